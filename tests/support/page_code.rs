//! Codes read from a printed page by a decoder that has nothing to do with how they are made.

use std::fs;
use std::path::Path;

/// The text of every code on a page. One that is seen but cannot be read fails the test.
pub fn codes_on(page: &Path) -> Vec<String> {
    let bytes = fs::read(page).unwrap_or_else(|e| panic!("{}: {e}", page.display()));
    let picture = image::load_from_memory(&bytes).unwrap_or_else(|e| panic!("{}: {e}", page.display())).to_luma8();
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let mut prepared =
        rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| picture.get_pixel(x as u32, y as u32).0[0]);
    let grids = prepared.detect_grids();
    grids.iter().map(|grid| grid.decode().unwrap_or_else(|e| panic!("{}: {e}", page.display())).1).collect()
}
