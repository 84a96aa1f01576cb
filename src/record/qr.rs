//! The printed code.

use std::fmt::Write;

use qrcode::{Color, EcLevel, QrCode};
use serde::Serialize;

/// Modules of white around a code (ISO/IEC 18004).
const QUIET_ZONE: usize = 4;

/// A QR code as a drawing.
#[derive(Clone, Debug, Serialize)]
pub struct Code {
    /// An SVG with its quiet zone, one path, one unit a module.
    pub svg: String,
    /// Modules a side, with the quiet zone.
    pub modules: usize,
}

/// The code for a link, level M; `None` if it is too long for any code.
pub fn code(link: &str) -> Option<Code> {
    let code = QrCode::with_error_correction_level(link.as_bytes(), EcLevel::M).ok()?;
    let width = code.width();
    let colors = code.to_colors();
    let modules = width + 2 * QUIET_ZONE;
    let mut path = String::new();
    for (row, line) in colors.chunks(width).enumerate() {
        let mut column = 0;
        while column < width {
            let run = line[column..].iter().take_while(|c| **c == Color::Dark).count();
            if run > 0 {
                // Writing into a String cannot fail.
                let _ = write!(path, "M{} {}h{run}v1h-{run}z", column + QUIET_ZONE, row + QUIET_ZONE);
            }
            column += run.max(1);
        }
    }
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {modules} {modules}\" shape-rendering=\"crispEdges\">\
         <rect width=\"{modules}\" height=\"{modules}\" fill=\"#fff\"/><path d=\"{path}\" fill=\"#000\"/></svg>"
    );
    Some(Code { svg, modules })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_of_62_bytes_is_version_4() {
        // ISO/IEC 18004: version 4-M holds 62 bytes; 33 modules a side, and four of white on each.
        let link = format!("https://{}", "a".repeat(54));
        assert_eq!(code(&link).unwrap().modules, 33 + 8);
        assert_eq!(code(&format!("{link}a")).unwrap().modules, 37 + 8);
    }
}
