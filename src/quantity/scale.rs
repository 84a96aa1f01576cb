//! The color blocks of a test strip, in ppm.

use super::error::QuantityError;
use super::expression::Reading;
use super::kinds::Strength;
use super::parse::{bare, strength};
use super::scan::MOST_CHARACTERS;
use super::wanted;

/// One block of a strip: `400 ppm`, or `400` alone, because strips print their blocks in ppm.
pub fn strength_of_block(text: &str) -> Result<Strength, QuantityError> {
    match bare(text) {
        Some((_, written)) => strength(&format!("{written} ppm")),
        None => strength(text),
    }
}

/// The blocks of a strip, rising: `0, 100, 200, 400 ppm`. A unit after the last is that of all.
pub fn scale(text: &str) -> Result<Vec<Strength>, QuantityError> {
    let reading = Reading::new(text, wanted::STRENGTH);
    if text.chars().nth(MOST_CHARACTERS).is_some() {
        // The scanner's own refusal, for the whole text.
        reading.tokens()?;
    }
    // A unit after `]`, as in `[0, 100] ppm`, is the last block's.
    let list: String = text.chars().filter(|c| !matches!(c, '[' | ']')).collect();
    let items = items(&list);
    if items.len() < 2 {
        return reading.refuse(
            "a scale has at least two blocks",
            &["write them with a comma and a space between: `0, 100, 200, 400 ppm`"],
        );
    }
    let unit = items.last().map_or("", |last| {
        last.trim().trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',')).trim()
    });
    let mut blocks: Vec<Strength> = Vec::with_capacity(items.len());
    for item in &items {
        let block = match bare(item) {
            Some((_, written)) if !unit.is_empty() => strength(&format!("{written} {unit}"))?,
            _ => strength_of_block(item)?,
        };
        if blocks.last().is_some_and(|last| *last >= block) {
            let shown = block.as_milligrams_per_litre();
            return reading.refuse(
                &format!(
                    "the blocks must rise, and {} does not",
                    super::Notation::english().exact_or_significant(shown, 3, 4)
                ),
                &["write the blocks from the lowest to the highest, each once, with a comma and a space between"],
            );
        }
        blocks.push(block);
    }
    Ok(blocks)
}

/// Cut at semicolons and at commas that are no thousands separators: those with a space after them.
fn items(list: &str) -> Vec<&str> {
    let mut items = Vec::new();
    let mut start = 0;
    let mut characters = list.char_indices().peekable();
    while let Some((at, c)) = characters.next() {
        let separates = c == ';' || (c == ',' && characters.peek().is_none_or(|(_, next)| !next.is_ascii_digit()));
        if separates {
            items.push(list.get(start..at).unwrap_or_default());
            start = at + c.len_utf8();
        }
    }
    items.push(list.get(start..).unwrap_or_default());
    items
}
