//! The house style: logo, accent color, lines for the foot. The firm's own look on documents that stay what they are.

use super::contrast::{LEAST_HUNDREDTHS, on_white};
use super::logo::{self, Logo};
use crate::diagnostic::Diagnostics;
use crate::yaml::{Fields, Node, Origin, custom, keys, text};

/// Lines for the foot of sheets and certificates, at most.
const MOST_LINES: usize = 3;
/// Characters of such a line, at most: what fits across the narrower paper.
const LONGEST_LINE: usize = 110;

keys! {
    /// The house style: how the firm's documents look. It changes no record's number.
    #[derive(Clone, Debug, Default, PartialEq, Eq)]
    pub struct Style {
        /// The logo on sheets and certificates: a file beside this one, SVG, or PNG of at most 4000 pixels a side and 8 million
        /// in all; at most 1 MiB. A drawing has its letters as outlines, and neither scripts, filters, patterns, markers, nor
        /// anything from outside the file. Example: `logo.svg`
        logo: Logo = text("a file beside this one", read_logo), optional;
        /// The accent color, in quotes: its contrast on white is at least 4.5 to 1. Example: `"#1b4d6b"`
        accent: Accent = text("a color", read_accent), optional;
        /// Lines for the foot of sheets and certificates: at most 3 of at most 110 characters.
        /// Example: `[Registered in Port Ansel.]`
        lines: Vec<String> = custom(read_lines, Vec::<String>::shape), or(Vec::new(), "[]");
    }
    => accent_has_a_value
}

/// A color dark enough to be read on white paper: at least 4.5 to 1 (WCAG 2.2, 1.4.3).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Accent([u8; 3]);

impl Accent {
    /// As `#rrggbb`.
    pub fn hex(self) -> String {
        let [red, green, blue] = self.0;
        format!("#{red:02x}{green:02x}{blue:02x}")
    }
}

/// A name of a file or folder that lies beside the company file, or below: what a copy of its folder takes along.
pub(super) fn read_beside(node: &Node<'_>, report: &mut Diagnostics) -> Option<std::path::PathBuf> {
    use std::path::{Component, Path};
    let name = node.text(report)?;
    let path = Path::new(&name);
    let within = |c: Component<'_>| matches!(c, Component::Normal(_) | Component::CurDir);
    let named = path.components().any(|c| matches!(c, Component::Normal(_)));
    if name.contains('\\') || !named || !path.components().all(within) {
        let message = format!("`{name}` is not inside the folder of this file");
        return report.fail(
            node.error("bad-path", message)
                .hint("put it beside this file, or in a folder there, and name it from here"),
        );
    }
    Some(node.origin().source().beside(&name))
}

/// A file named from the folder of this one, wherever it lies.
pub(super) fn read_file(node: &Node<'_>, report: &mut Diagnostics) -> Option<(std::path::PathBuf, Origin)> {
    let origin = node.origin();
    Some((origin.source().beside(&node.text(report)?), origin))
}

fn read_logo(node: &Node<'_>, report: &mut Diagnostics) -> Option<Logo> {
    let path = read_beside(node, report)?;
    match logo::read(&path) {
        Ok(logo) => Some(logo),
        Err(refusal) => report.fail(node.error("bad-logo", refusal).hint(format!(
            "an SVG, or a PNG of at most {} pixels a side; at most {} MiB",
            logo::LARGEST_SIDE,
            logo::LARGEST_LOGO >> 20
        ))),
    }
}

const QUOTED: &str =
    "write it in quotes, like `accent: \"#1b4d6b\"`: red, green and blue as two hexadecimal digits each";

/// Without quotes YAML takes the color for a remark, and the key would pass unseen.
fn accent_has_a_value(fields: &Fields<'_>, report: &mut Diagnostics) {
    if fields.holds("accent") && fields.get("accent").is_none() {
        report.push(fields.node().error("missing-key", "`accent` has no value").hint(QUOTED));
    }
}

fn read_accent(node: &Node<'_>, report: &mut Diagnostics) -> Option<Accent> {
    let text = node.text(report)?;
    let Some(rgb) = read_hex(&text) else {
        return report.fail(node.error("bad-color", format!("`{text}` is not a color")).hint(QUOTED));
    };
    let contrast = on_white(rgb);
    if contrast < LEAST_HUNDREDTHS {
        let ratio = |hundredths: u32| format!("{}.{:02}", hundredths / 100, hundredths % 100);
        let message = format!("`{text}` is too pale on white paper: its contrast is {} to 1", ratio(contrast));
        let least = format!("at least {} to 1 (WCAG 2.2, 1.4.3); choose a darker shade", ratio(LEAST_HUNDREDTHS));
        return report.fail(node.error("pale-accent", message).hint(least));
    }
    Some(Accent(rgb))
}

fn read_hex(text: &str) -> Option<[u8; 3]> {
    let digits = text.strip_prefix('#')?;
    if digits.len() != 6 || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        return None;
    }
    let value = u32::from_str_radix(digits, 16).ok()?;
    let [_, red, green, blue] = value.to_be_bytes();
    Some([red, green, blue])
}

fn read_lines(node: &Node<'_>, report: &mut Diagnostics) -> Option<Vec<String>> {
    let items = node.items_or_one(report)?;
    if let Some(surplus) = items.get(MOST_LINES) {
        let message = format!("there are {} lines; the foot has room for {MOST_LINES}", items.len());
        report.push(surplus.error("too-many-lines", message));
    }
    let mut lines = Vec::new();
    for item in items.iter().take(MOST_LINES) {
        let Some(line) = item.text(report) else { continue };
        let length = line.chars().count();
        if length > LONGEST_LINE {
            let message = format!("the line has {length} characters; {LONGEST_LINE} fit across the paper");
            report.push(item.error("line-too-long", message));
        }
        lines.push(line);
    }
    Some(lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_are_read_as_they_are_written() {
        assert_eq!(read_hex("#1B4d6b"), Some([0x1b, 0x4d, 0x6b]));
        for bad in ["1b4d6b", "#1b4d6", "#1b4d6bff", "#gg0000", "teal", "#+1b4d6", "#é1b4d"] {
            assert_eq!(read_hex(bad), None, "{bad}");
        }
        assert_eq!(Accent([0x1b, 0x4d, 0x06]).hex(), "#1b4d06");
    }
}
