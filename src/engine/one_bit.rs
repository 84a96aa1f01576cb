//! Pages in one bit a dot, for label printers that burn a dot or leave it.

use tiny_skia::Pixmap;

/// A dot darker than this, of 255, is black. A little over the middle: a stroke of small type that covers two fifths of
/// its dots still prints, while the modules of a code grow by less than a fifth of a dot.
const BLACK_BELOW: u32 = 150;

/// Inches in a metre, in ten-thousandths: PNG counts dots by the metre.
const INCHES_PER_10_000_METRES: u64 = 393_701;

/// The picture as a PNG of bit depth 1 that states its resolution. Greys become the nearer of black and white, without
/// dots of either to stand for them. `None` if it cannot be encoded.
pub(super) fn encode(picture: &Pixmap, dpi: u32) -> Option<Vec<u8>> {
    let (width, height) = (picture.width(), picture.height());
    let row = usize::try_from(width.div_ceil(8)).ok()?;
    let mut bits = Vec::with_capacity(row * usize::try_from(height).ok()?);
    for line in picture.pixels().chunks(usize::try_from(width).ok()?) {
        for eight in line.chunks(8) {
            let mut byte = 0xFF_u8;
            for (i, dot) in eight.iter().enumerate() {
                // the luma of ITU-R BT.601, in thousandths; pages are opaque, so colors are as they look
                let luma = u32::from(dot.red()) * 299 + u32::from(dot.green()) * 587 + u32::from(dot.blue()) * 114;
                if luma < BLACK_BELOW * 1_000 {
                    byte &= !(0x80 >> i);
                }
            }
            bits.push(byte);
        }
    }
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::One);
    let per_metre = u32::try_from((u64::from(dpi) * INCHES_PER_10_000_METRES + 5_000) / 10_000).ok()?;
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: per_metre, yppu: per_metre, unit: png::Unit::Meter }));
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(&bits).ok()?;
    writer.finish().ok()?;
    Some(file)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tiny_skia::Color;

    #[test]
    fn dots_are_black_or_white_and_the_resolution_is_stated() {
        let mut picture = Pixmap::new(9, 1).unwrap();
        picture.fill(Color::WHITE);
        for (x, grey) in [(0, 0), (2, 149), (3, 151), (8, 97)] {
            picture.pixels_mut()[x] = tiny_skia::ColorU8::from_rgba(grey, grey, grey, 255).premultiply();
        }
        let file = encode(&picture, 203).unwrap();
        let mut reader = png::Decoder::new(std::io::Cursor::new(&file)).read_info().unwrap();
        let info = reader.info();
        assert_eq!((info.bit_depth, info.color_type), (png::BitDepth::One, png::ColorType::Grayscale));
        // 203 / 0.0254 = 7 992.1
        assert_eq!(info.pixel_dims.map(|d| (d.xppu, d.yppu)), Some((7_992, 7_992)));
        let row = reader.next_row().unwrap().unwrap();
        assert_eq!(row.data(), [0b0101_1111, 0b0111_1111]);
    }
}
