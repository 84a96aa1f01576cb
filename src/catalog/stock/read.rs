//! Label stock as the company file gives it, held against its page.

use super::super::{PageSize, Regime};
use super::{Hole, Ink, Stock, half, millimetres};
use crate::quantity::{Extent, Length, Number, parse, range};
use crate::report::Report;
use crate::yaml::{Fields, Node};

const KEYS: &[&str] = &[
    "label",
    "sheet",
    "columns",
    "rows",
    "margins",
    "gaps",
    "corners",
    "orientation",
    "safe",
    "hole",
    "ink",
    "copies",
    "regime",
];

/// Which way up a label is read.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Orientation {
    Portrait,
    Landscape,
}

impl Stock {
    pub(in crate::catalog) fn read(node: &Node<'_>, company: Regime, report: &mut Report) -> Option<Stock> {
        let fields = node.fields(KEYS, report)?;
        let label = fields.need("label", report).and_then(|n| read_size(&n, report));
        let sheet = match fields.get("sheet") {
            Some(n) => Some(read_sheet(&n, report)?),
            None => None,
        };
        let columns = read_count(&fields, "columns", report);
        let rows = read_count(&fields, "rows", report);
        let (left, top) = match fields.get("margins") {
            Some(n) => read_pair(&n, ["left", "top"], report)?,
            None => (Length::zero(), Length::zero()),
        };
        let (gap_x, gap_y) = match fields.get("gaps") {
            Some(n) => read_pair(&n, ["across", "down"], report)?,
            None => (Length::zero(), Length::zero()),
        };
        let corners = read_length(&fields, "corners", report)?;
        let safe = read_length(&fields, "safe", report)?;
        let ink = fields.get("ink").map_or(Some(Ink::Colour), |n| n.choice(report, Ink::WORDS));
        let copies = read_count(&fields, "copies", report);
        let orientation = match fields.get("orientation") {
            Some(n) => {
                let words = &[("portrait", Orientation::Portrait), ("landscape", Orientation::Landscape)];
                Some(n.choice(report, words)?)
            }
            None => None,
        };
        let regime = match fields.get("regime") {
            Some(n) => read_regime(&n, company, report)?,
            None => company,
        };
        let (width, height) = label?;
        let hole = match fields.get("hole") {
            Some(n) => Some(read_hole(&n, &width, &height, report)?),
            None => None,
        };
        let (columns, rows) = (columns?, rows?);
        let (page_width, page_height) = sheet.unwrap_or_else(|| (width.clone(), height.clone()));
        let corners = corners.unwrap_or_else(Length::zero);
        let safe = safe.unwrap_or_else(|| usual_safe(&width, &height, columns * rows, &corners));
        let stock = Stock {
            turned: match orientation {
                Some(Orientation::Portrait) => width > height,
                Some(Orientation::Landscape) => height > width,
                None => false,
            },
            page_width,
            page_height,
            width,
            height,
            columns,
            rows,
            left,
            top,
            gap_x,
            gap_y,
            corners,
            safe,
            hole,
            ink: ink?,
            copies: copies?,
            regime,
        };
        let on_page = stock.lies_on_page(node, report);
        (stock.is_sound(&fields, report) && on_page).then_some(stock)
    }

    /// Whether all labels lie on the page; if not, by how much and past which edge.
    fn lies_on_page(&self, node: &Node<'_>, report: &mut Report) -> bool {
        struct Side<'a> {
            margin: &'a Length,
            label: &'a Length,
            gap: &'a Length,
            count: u32,
            page: &'a Length,
            edge: &'static str,
            extent: &'static str,
        }
        let sides = [
            Side {
                margin: &self.left,
                label: &self.width,
                gap: &self.gap_x,
                count: self.columns,
                page: &self.page_width,
                edge: "right",
                extent: "wide",
            },
            Side {
                margin: &self.top,
                label: &self.height,
                gap: &self.gap_y,
                count: self.rows,
                page: &self.page_height,
                edge: "bottom",
                extent: "high",
            },
        ];
        let mut fits = true;
        for side in sides {
            let count = i64::from(side.count);
            let labels = side.label.times(&Number::int(count));
            let taken = &(side.margin + &labels) + &side.gap.times(&Number::int(count - 1));
            if taken <= *side.page {
                continue;
            }
            let message =
                format!("the labels reach {} past the page's {} edge", said(&(&taken - side.page)), side.edge);
            let hint = format!(
                "a margin of {}, {count} of {} and {} between them take {}; the page is {} {}",
                said(side.margin),
                said(side.label),
                said(side.gap),
                said(&taken),
                said(side.page),
                side.extent
            );
            report.push(node.error("stock-off-page", message).hint(hint));
            fits = false;
        }
        fits
    }

    /// Whether corners, safe distance and hole are such as a label of this size can have.
    fn is_sound(&self, fields: &Fields<'_>, report: &mut Report) -> bool {
        let shorter = (&self.width).min(&self.height);
        let at = |key: &str| fields.get(key).unwrap_or_else(|| fields.node().clone());
        let mut sound = true;
        let mut refuse = |key: &str, code: &'static str, message: String| {
            report.push(at(key).error(code, message));
            sound = false;
        };
        let most = half(shorter);
        if self.corners > most {
            let over = said(&(&self.corners - &most));
            refuse(
                "corners",
                "bad-corners",
                format!("corners are at most half of the label's shorter side: {over} too much"),
            );
        }
        if self.safe < corner_reach(&self.corners) {
            let short = said(&(&corner_reach(&self.corners) - &self.safe));
            refuse(
                "safe",
                "bad-safe",
                format!("with corners of {} print would leave the label: {short} more", said(&self.corners)),
            );
        }
        let insets = self.insets();
        let (across, down) = if self.turned { (&self.height, &self.width) } else { (&self.width, &self.height) };
        for (size, taken, extent) in
            [(across, &insets.left + &insets.right, "across"), (down, &insets.top + &insets.bottom, "down")]
        {
            // 10 mm, the least side of a pictogram, is the least that is of any use
            let needed = &taken + &Length::metres(Number::ratio(1, 100));
            if *size < needed {
                let short = said(&(&needed - size));
                let key = if self.hole.is_some() { "hole" } else { "safe" };
                let message = format!(
                    "{extent}, the safe distance and the hole take {} and leave less than 10 mm to print on: {short} short",
                    said(&taken)
                );
                refuse(key, "no-room", message);
            }
        }
        sound
    }
}

/// Where nothing is said: 4 mm, as rolls feed a little askew; 2 mm on sheets, which do not, and on labels so small that
/// 4 mm would take too much. Never so little that print leaves a rounded corner.
fn usual_safe(width: &Length, height: &Length, per_page: u32, corners: &Length) -> Length {
    let small = width.min(height) < &Length::metres(Number::ratio(60, 1000));
    let usual = Length::metres(Number::ratio(if per_page > 1 || small { 2 } else { 4 }, 1000));
    usual.max(corner_reach(corners))
}

/// How far from both edges the corner of a rectangle must stand to lie within a rounded corner: r (1 − √½), taken as
/// 0.293 r, which is a little more.
fn corner_reach(radius: &Length) -> Length {
    radius.times(&Number::ratio(293, 1000))
}

/// `88.9 mm (3.5 in)`
fn said(length: &Length) -> String {
    let inches = length.as_metres() / &Number::ratio(254, 10_000);
    format!("{} mm ({} in)", millimetres(length).decimal(2), inches.decimal(3))
}

/// Labels on a stock may follow other rules than the company's, but hazards are classified once, by the company's.
fn read_regime(node: &Node<'_>, company: Regime, report: &mut Report) -> Option<Regime> {
    let regime = node.choice(report, Regime::WORDS)?;
    if regime.rules() == company.rules() {
        return Some(regime);
    }
    let message = format!(
        "labels after `{}` need hazards classified by its rules, and the company's regime is `{}`",
        regime.word(),
        company.word()
    );
    let hint = "give the company that regime, or use a company file for each country";
    report.push(node.error("regimes-differ", message).hint(hint));
    None
}

fn read_size(node: &Node<'_>, report: &mut Report) -> Option<(Length, Length)> {
    match node.parse(report, parse::extent)? {
        Extent::Rectangle { length, width } if !length.is_zero() && !width.is_zero() => {
            let text = node.text(report)?;
            let checked = [&length, &width].into_iter().try_for_each(|side| range::PAPER.check(side, &text));
            if let Err(refusal) = checked {
                report.push(node.error("out-of-range", refusal.message));
                return None;
            }
            Some((length, width))
        }
        _ => {
            report.push(node.error("bad-size", "a size is width by height, such as `4 in x 6 in`"));
            None
        }
    }
}

fn read_sheet(node: &Node<'_>, report: &mut Report) -> Option<(Length, Length)> {
    let tenths = |a: i64, b: i64| (Length::metres(Number::ratio(a, 10_000)), Length::metres(Number::ratio(b, 10_000)));
    let text = node.text(report)?;
    match PageSize::WORDS.iter().find(|(word, _)| *word == text) {
        Some((_, PageSize::UsLetter)) => Some(tenths(2_159, 2_794)),
        Some((_, PageSize::A4)) => Some(tenths(2_100, 2_970)),
        None => read_size(node, report),
    }
}

fn read_count(fields: &Fields<'_>, key: &str, report: &mut Report) -> Option<u32> {
    let Some(node) = fields.get(key) else { return Some(1) };
    read_copies(&node, report)
}

/// A count from 1 to 100.
pub(crate) fn read_copies(node: &Node<'_>, report: &mut Report) -> Option<u32> {
    let text = node.text(report)?;
    match text.parse::<u32>() {
        Ok(count @ 1..=100) => Some(count),
        _ => {
            report.push(node.error("bad-count", format!("`{text}` is not a count from 1 to 100")));
            None
        }
    }
}

/// A length that may be left out: `None` if it cannot be read, `Some(None)` if it is not there.
#[allow(clippy::option_option, reason = "a fault and an absence are told apart")]
fn read_length(fields: &Fields<'_>, key: &str, report: &mut Report) -> Option<Option<Length>> {
    match fields.get(key) {
        Some(n) => n.parse(report, parse::length).map(Some),
        None => Some(None),
    }
}

fn read_pair(node: &Node<'_>, keys: [&str; 2], report: &mut Report) -> Option<(Length, Length)> {
    let fields = node.fields(&keys, report)?;
    let first = read_length(&fields, keys[0], report)?;
    let second = read_length(&fields, keys[1], report)?;
    Some((first.unwrap_or_else(Length::zero), second.unwrap_or_else(Length::zero)))
}

/// A hole by its centre. Where only one distance is given it lies in the middle of the other side.
fn read_hole(node: &Node<'_>, width: &Length, height: &Length, report: &mut Report) -> Option<Hole> {
    let fields = node.fields(&["diameter", "from_top", "from_left"], report)?;
    let diameter = fields.need("diameter", report)?.parse(report, parse::length)?;
    let from_top = read_length(&fields, "from_top", report)?;
    let from_left = read_length(&fields, "from_left", report)?;
    if from_top.is_none() && from_left.is_none() {
        let hint = "give `from_top`, `from_left` or both: the distance from the label's edge to the hole's centre";
        report.push(node.error("bad-hole", "it is not said where the hole is").hint(hint));
        return None;
    }
    let hole = Hole {
        from_left: from_left.unwrap_or_else(|| half(width)),
        from_top: from_top.unwrap_or_else(|| half(height)),
        diameter,
    };
    let radius = half(&hole.diameter);
    let mut inside = true;
    for (from, size, near, far) in
        [(&hole.from_left, width, "left", "right"), (&hole.from_top, height, "top", "bottom")]
    {
        let past = if *from < radius {
            Some((&radius - from, near))
        } else if &(from + &radius) > size {
            Some((&(from + &radius) - size, far))
        } else {
            None
        };
        if let Some((over, edge)) = past {
            let message = format!("the hole reaches {} past the label's {edge} edge", said(&over));
            report.push(node.error("bad-hole", message));
            inside = false;
        }
    }
    inside.then_some(hole)
}
