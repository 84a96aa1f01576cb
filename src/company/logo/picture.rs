//! Pictures: every pixel is there, and there are not too many.

use std::io::{Cursor, Read};

use super::LARGEST_SIDE;

/// The most pixels of a picture: each takes up to eight bytes of memory, several times over.
const MOST_PIXELS: u64 = 8_000_000;
/// The most bytes that all color profiles and texts of a PNG unpack to; a color profile has some thousand.
const MOST_BESIDE: u64 = 2 << 20;

/// Every pixel must be there, since a picture cut short would fail later, on paper.
pub(super) fn check_png(bytes: &[u8]) -> Result<(), String> {
    let broken = |e: png::DecodingError| format!("the logo is a damaged PNG: {e}");
    check_beside(bytes)?;
    let mut reader = png::Decoder::new(Cursor::new(bytes)).read_info().map_err(broken)?;
    check_size(reader.info().width, reader.info().height)?;
    while reader.next_row().map_err(broken)?.is_some() {}
    Ok(())
}

/// A JPEG by its frame header (ITU-T T.81, B.2.2).
pub(super) fn check_jpeg(bytes: &[u8]) -> Result<(), String> {
    let size = jpeg_size(bytes).ok_or("the logo holds a damaged JPEG")?;
    check_size(size.0, size.1)
}

fn check_size(width: u32, height: u32) -> Result<(), String> {
    if width.max(height) > LARGEST_SIDE {
        return Err(format!("the logo is {width} × {height} pixels; at most {LARGEST_SIDE} a side do"));
    }
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(format!("the logo is {width} × {height} pixels; at most {MOST_PIXELS} in all do"));
    }
    Ok(())
}

/// What stands beside the pixels, packed: color profile and texts (PNG, third edition, 11.3.2.3, 11.3.3.3 and 11.3.3.4).
fn check_beside(bytes: &[u8]) -> Result<(), String> {
    let mut left = MOST_BESIDE;
    let mut rest = bytes.get(8..).unwrap_or_default();
    while let Some((head, after)) = rest.split_first_chunk::<8>() {
        let (length, kind) = head.split_at(4);
        let length = length.iter().fold(0_usize, |sum, byte| sum << 8 | usize::from(*byte));
        let Some(content) = after.get(..length) else { break };
        rest = after.get(length + 4..).unwrap_or_default();
        if !matches!(kind, b"iCCP" | b"zTXt" | b"iTXt") {
            continue;
        }
        // the packed part begins somewhere behind the name's end
        let name = content.iter().position(|b| *b == 0).unwrap_or(content.len());
        let packed = match kind {
            b"iTXt" => content.get(name + 3..).and_then(|texts| {
                let mut parts = texts.splitn(3, |b| *b == 0);
                parts.nth(2)
            }),
            _ => content.get(name + 2..),
        };
        let unpacked = flate2::read::ZlibDecoder::new(packed.unwrap_or_default()).take(left + 1);
        // what cannot be unpacked is the decoder's to refuse
        let mut counted = 0;
        for byte in Chunks(unpacked) {
            counted += byte;
        }
        left = left.checked_sub(counted).ok_or_else(|| {
            format!("what stands beside the logo's pixels unpacks to more than {} MiB", MOST_BESIDE >> 20)
        })?;
    }
    Ok(())
}

/// How many bytes each read gives, to the end or the first fault.
struct Chunks<R>(R);

impl<R: Read> Iterator for Chunks<R> {
    type Item = u64;

    fn next(&mut self) -> Option<u64> {
        let mut buffer = [0; 8_192];
        match self.0.read(&mut buffer) {
            Ok(0) | Err(_) => None,
            Ok(read) => Some(read as u64),
        }
    }
}

fn jpeg_size(bytes: &[u8]) -> Option<(u32, u32)> {
    let mut rest = bytes.strip_prefix(b"\xff\xd8")?;
    loop {
        let marker = match rest {
            [0xff, 0xff, ..] => {
                rest = &rest[1..];
                continue;
            }
            [0xff, marker, ..] => *marker,
            _ => return None,
        };
        let segment = rest.get(2..)?;
        let length = usize::from(u16::from_be_bytes([*segment.first()?, *segment.get(1)?]));
        // a frame: all of C0 to CF but tables of Huffman codes, extensions and arithmetic conditioning
        if matches!(marker, 0xc0..=0xcf) && !matches!(marker, 0xc4 | 0xc8 | 0xcc) {
            let side = |at: usize| Some(u32::from(u16::from_be_bytes([*segment.get(at)?, *segment.get(at + 1)?])));
            return Some((side(5)?, side(3)?));
        }
        rest = segment.get(length.max(2)..)?;
    }
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use super::*;

    fn chunk(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
        let length = u32::try_from(content.len()).expect("short").to_be_bytes();
        // checksums are the decoder's business
        [length.as_slice(), kind, content, &[0; 4]].concat()
    }

    #[test]
    fn what_swells_beside_the_pixels_is_refused() {
        let mut packer = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::best());
        packer.write_all(&vec![0; 3 << 20]).expect("memory takes bytes");
        let bomb = packer.finish().expect("memory takes bytes");
        assert!(bomb.len() < 4_000);
        for (kind, before) in
            [(b"iCCP", b"sRGB\0\0".as_slice()), (b"zTXt", b"Comment\0\0"), (b"iTXt", b"Comment\0\x01\0en\0Comment\0")]
        {
            let png = [b"\x89PNG\r\n\x1a\n".to_vec(), chunk(kind, &[before, &bomb].concat())].concat();
            let refusal = check_png(&png).expect_err("it swells");
            assert!(refusal.contains("unpacks to more than 2 MiB"), "{refusal}");
        }
    }

    #[test]
    fn a_jpeg_has_its_size_in_its_frame() {
        let frame = b"\xff\xd8\xff\xe0\0\x04ab\xff\xff\xc2\0\x0b\x08\x0f\xa1\0\x02\x01\x01\x11\0";
        assert_eq!(jpeg_size(frame), Some((2, 4_001)));
        assert!(check_jpeg(frame).expect_err("too tall").contains("2 × 4001 pixels"));
        assert!(check_jpeg(&frame[..12]).is_err());
        assert!(check_size(4_000, 2_000).is_ok() && check_size(4_000, 2_001).is_err());
    }
}
