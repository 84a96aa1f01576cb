//! Codes read from a printed page by a decoder that has nothing to do with how they are made.

use std::fs;
use std::path::Path;

/// The text of every code on a page. One that is seen but cannot be read fails the test.
pub fn codes_on(page: &Path) -> Vec<String> {
    codes_in_columns(page, 1)
}

/// The same column by column: of a sheet full of codes the decoder takes corners of different ones for one.
pub fn codes_in_columns(page: &Path, columns: usize) -> Vec<String> {
    let bytes = fs::read(page).unwrap_or_else(|e| panic!("{}: {e}", page.display()));
    let picture = image::load_from_memory(&bytes).unwrap_or_else(|e| panic!("{}: {e}", page.display())).to_luma8();
    let (width, height) = (picture.width() as usize / columns, picture.height() as usize);
    let of_column = |column: usize| {
        let dot = |x: usize, y: usize| picture.get_pixel((column * width + x) as u32, y as u32).0[0];
        let mut prepared = rqrr::PreparedImage::prepare_from_greyscale(width, height, dot);
        let grids = prepared.detect_grids();
        let read = |grid: &rqrr::Grid<_>| grid.decode().unwrap_or_else(|e| panic!("{}: {e}", page.display())).1;
        grids.iter().map(read).collect::<Vec<_>>()
    };
    (0..columns).flat_map(of_column).collect()
}
