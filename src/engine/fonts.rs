//! The one family we print with, IBM Plex Sans, embedded: weights 100 to 700, widths 75 % to 100 %.

use std::sync::LazyLock;

use sha2::{Digest, Sha256};
use typst::foundations::Bytes;
use typst::layout::Abs;
use typst::text::{Font, FontBook, FontInstance, FontVariant, FontVariations};
use typst::utils::LazyHash;

/// The font file, unmodified, under the SIL Open Font License 1.1 (`fonts/LICENSE-IBMPlexSans.txt`).
static PLEX_SANS: &[u8] = include_bytes!("../../fonts/IBMPlexSans[wdth,wght].ttf");

/// Read once a process.
static FONTS: LazyLock<Vec<Font>> = LazyLock::new(|| Font::iter(Bytes::new(PLEX_SANS)).collect());

/// Every font a document may use.
pub(crate) fn all() -> &'static [Font] {
    &FONTS
}

/// What Typst knows about the fonts before it opens one.
pub(crate) fn book() -> LazyHash<FontBook> {
    LazyHash::new(FontBook::from_fonts(all()))
}

/// SHA-256 of the font file.
pub fn digest() -> [u8; 32] {
    static DIGEST: LazyLock<[u8; 32]> = LazyLock::new(|| Sha256::digest(PLEX_SANS).into());
    *DIGEST
}

/// Whether this character can be printed: it has a glyph, or it only steers the breaking of lines.
///
/// Other characters make a document an error, since a missing glyph would print as an empty box.
pub fn can_print(c: char) -> bool {
    // looking a character up takes long, and nearly all are these
    static ASCII: LazyLock<[bool; 128]> = LazyLock::new(|| std::array::from_fn(|i| has_glyph(char::from(i as u8))));
    matches!(c, '\n' | '\u{200B}') || ASCII.get(c as usize).copied().unwrap_or_else(|| has_glyph(c))
}

fn has_glyph(c: char) -> bool {
    all().iter().any(|font| font.info().coverage.contains(c as u32))
}

/// How wide a text is on one line in regular weight, in ems, without kerning.
pub fn advance(text: &str) -> f64 {
    // nearly all letters are these; asking the font for each again and again is a thirtieth of a sheet's time
    static ASCII: LazyLock<[f64; 128]> = LazyLock::new(|| std::array::from_fn(|i| width(char::from(i as u8))));
    text.chars().map(|c| ASCII.get(c as usize).copied().unwrap_or_else(|| width(c))).sum()
}

fn width(c: char) -> f64 {
    static REGULAR: LazyLock<Option<FontInstance>> = LazyLock::new(|| {
        let (variant, as_it_is) = (FontVariant::default(), FontVariations::default());
        Some(all().first()?.clone().instantiate(variant, Abs::pt(10.0), &as_it_is))
    });
    let found = REGULAR.as_ref().and_then(|font| {
        let glyph = font.ttf().glyph_index(c)?;
        Some(font.x_advance(glyph.0)?.get())
    });
    found.unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn covers_the_languages_we_print() {
        for c in "Saint-Éloi ñ ß Łódź Nguyễn Văn Thắng ² ³ ½ µ μ ° ′ ″ – — · × ≤ ≥ ≈ → ™ € \u{a0}".chars()
        {
            assert!(can_print(c), "no glyph for {c:?}");
        }
    }

    /// All figures are as wide as each other, 600 thousandths of an em, in Plex Sans: the font's own `hmtx` table.
    #[test]
    fn widths_are_those_of_the_font() {
        assert!((advance("2026") - 4.0 * 0.6).abs() < 1e-9);
        assert_eq!(advance(""), 0.0);
    }

    #[test]
    fn knows_what_it_has_not() {
        for c in ['😀', '☐', '☑', '⚠', '漢', '\u{fe0f}', '\0', '\u{7}', '\u{e000}'] {
            assert!(!can_print(c), "claims a glyph for {c:?}");
        }
    }
}
