//! Label stock as the company file gives it, compared with its page.

use super::super::{PageSize, Regime};
use super::{Hole, Ink, Stock, half, millimetres};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::{Extent, Length, Number, parse, range};
use crate::yaml::{At, Declared, Line, Node, Origin, Shape, count, custom, keys, nearest, text, words};

keys! {
    /// A kind of label, and the page it comes on. What does not fit on the page is an error that says by how much.
    pub struct StockKeys {
        /// Width by height of one label, as the stock lies in the printer. Example: `4 in x 6 in`
        label: (Length, Length) = text("a size, width by height", read_size), required;
        /// The page: `us-letter`, `a4` or a size. Without it the page is the label, as on a roll. Example: `us-letter`
        sheet: (Length, Length) = custom(read_sheet, sheet_shape), optional;
        /// Labels side by side.
        columns: u32 = count(1, 100), or(1, "1");
        /// Labels one below the other.
        rows: u32 = count(1, 100), or(1, "1");
        /// From the page's edges to the first label; a sheet must have it. Example: `{ left: 0.2 in, top: 0.5 in }`
        margins: Margins, optional;
        /// Between the labels. Example: `{ across: 0.1 in }`
        gaps: Gaps, or(Gaps { across: Length::zero(), down: Length::zero() }, "none");
        /// Radius of rounded corners. Example: `3 mm`
        corners: Length, or(Length::zero(), "0 mm");
        /// Which way up a label is read. Where it lies otherwise, what is printed lies turned by a quarter, its head to the
        /// left.
        orientation: Orientation, optional;
        /// How far print keeps from a label's edge: where the file does not say 4 mm, and 2 mm on sheets and on labels of less
        /// than 60 mm. Example: `3 mm`
        safe: Length, optional;
        /// A hole to tie the label on by. Print keeps off that end of the label.
        /// Example: `{ diameter: 6 mm, from_top: 8 mm }`
        hole: HoleKeys, optional;
        /// What the printer of this stock prints with.
        ink: Ink, or(Ink::Color, "color");
        /// How many of each label are printed where nothing else says so.
        copies: u32 = count(1, 100), or(1, "1");
        /// The rules its labels follow, where they are not the company's: such as `united-states-general` for small labels.
        regime: At<Regime>, optional;
    }
    + origin
}

keys! {
    /// From the page's edges to the first label.
    pub struct Margins {
        /// From the page's left edge. Example: `5 mm`
        left: Length, required;
        /// From the page's top edge. Example: `0.5 in`
        top: Length, required;
    }
}

keys! {
    /// Between the labels.
    pub struct Gaps {
        /// Between columns. Example: `3 mm`
        across: Length, or(Length::zero(), "0 mm");
        /// Between rows. Example: `3 mm`
        down: Length, or(Length::zero(), "0 mm");
    }
}

keys! {
    /// A hole by its center. Where only one distance is given it lies in the middle of the other side.
    pub struct HoleKeys {
        /// Across. Example: `6 mm`
        diameter: Length, required;
        /// From the label's top edge to the hole's center. Example: `8 mm`
        from_top: Length, optional;
        /// From the label's left edge to the hole's center. Example: `8 mm`
        from_left: Length, optional;
    }
    + origin
}

words! {
    /// Which way up a label is read.
    pub enum Orientation {
        /// higher than wide
        Portrait = "portrait",
        /// wider than high
        Landscape = "landscape",
    }
}

impl Declared for Stock {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Stock> {
        let before = report.errors();
        let keys = StockKeys::from_node(node, report)?;
        // what does not fit may be so because of what could not be read
        if report.errors() > before { None } else { Stock::of(keys, report) }
    }

    fn shape() -> Shape {
        StockKeys::shape()
    }
}

impl Stock {
    fn of(keys: StockKeys, report: &mut Diagnostics) -> Option<Stock> {
        let (width, height) = keys.label;
        let hole = match keys.hole {
            Some(hole) => Some(hole.on_label(&width, &height, report)?),
            None => None,
        };
        let has_margins = keys.margins.is_some() || keys.sheet.is_none();
        let (left, top) = keys.margins.map_or((Length::zero(), Length::zero()), |from| (from.left, from.top));
        let (page_width, page_height) = keys.sheet.unwrap_or_else(|| (width.clone(), height.clone()));
        let stock = Stock {
            turned: match keys.orientation {
                Some(Orientation::Portrait) => width > height,
                Some(Orientation::Landscape) => height > width,
                None => false,
            },
            safe: keys.safe.unwrap_or_else(|| usual_safe(&width, &height, keys.columns * keys.rows, &keys.corners)),
            page_width,
            page_height,
            width,
            height,
            columns: keys.columns,
            rows: keys.rows,
            left,
            top,
            gap_x: keys.gaps.across,
            gap_y: keys.gaps.down,
            corners: keys.corners,
            hole,
            ink: keys.ink,
            copies: keys.copies,
            regime: keys.regime.as_ref().map(|at| at.value).unwrap_or_default(),
            own_regime: keys.regime,
        };
        let on_page =
            stock.lies_on_page(&keys.origin, report) && (has_margins || stock.has_no_margins(&keys.origin, report));
        (stock.is_sound(&keys.origin, report) && on_page).then_some(stock)
    }

    /// Gives the stock the company's regime where it has none of its own. Labels may follow other rules than the company's, but
    /// hazards are classified once, by the company's: `false` where the stock's own regime needs others.
    pub(in crate::company) fn follow(&mut self, company: Regime, report: &mut Diagnostics) -> bool {
        let Some(own) = &self.own_regime else {
            self.regime = company;
            return true;
        };
        if own.value.rules() == company.rules() {
            return true;
        }
        let message = format!(
            "labels after `{}` need hazards classified by its rules, and the company's regime is `{}`",
            own.value.word(),
            company.word()
        );
        let hint = "give the company that regime, or use a company file for each country";
        report.push(own.origin.error("regimes-differ", message).hint(hint));
        false
    }

    /// Whether all labels lie on the page; if not, by how much and past which edge.
    fn lies_on_page(&self, origin: &Origin, report: &mut Diagnostics) -> bool {
        let across = (&self.left, &self.width, &self.gap_x, self.columns, &self.page_width);
        let down = (&self.top, &self.height, &self.gap_y, self.rows, &self.page_height);
        let mut fits = true;
        for ((margin, label, gap, count, page), edge, extent) in [(across, "right", "wide"), (down, "bottom", "high")] {
            let taken = margin + &side_by_side(label, gap, count);
            if taken <= *page {
                continue;
            }
            let message = format!("the labels reach {} past the page's {edge} edge", said(&(&taken - page)));
            let hint = format!(
                "a margin of {}, {count} of {} and {} between them take {}; the page is {} {extent}",
                said(margin),
                said(label),
                said(gap),
                said(&taken),
                said(page),
            );
            report.push(origin.error("stock-off-page", message).hint(hint));
            fits = false;
        }
        fits
    }

    /// Whether the labels of a sheet fill it, so that no margin need be given: at 0,0 nobody's labels lie otherwise.
    fn has_no_margins(&self, origin: &Origin, report: &mut Diagnostics) -> bool {
        let left = &self.page_width - &side_by_side(&self.width, &self.gap_x, self.columns);
        let top = &self.page_height - &side_by_side(&self.height, &self.gap_y, self.rows);
        if left.is_zero() && top.is_zero() {
            return true;
        }
        let middle =
            |rest: &Length| format!("{} in", (half(rest).as_metres() / &Number::ratio(254, 10_000)).decimal(3));
        let problem = origin.error("margins-missing", "it is not given where the first label lies on this sheet");
        let measure = "measure from the paper's edges to the first label: `margins: { left: …, top: … }`";
        let if_centered = format!(
            "if the labels lie in the middle of the sheet: `margins: {{ left: {}, top: {} }}`; `decant test-print` shows whether they do",
            middle(&left),
            middle(&top)
        );
        report.push(problem.hint(measure).hint(if_centered));
        false
    }

    /// Whether corners, safe distance and hole are such as a label of this size can have.
    fn is_sound(&self, origin: &Origin, report: &mut Diagnostics) -> bool {
        let shorter = (&self.width).min(&self.height);
        let at = |key: &str| if origin.has(key) { origin.key(key) } else { origin.clone() };
        let mut sound = true;
        let mut refuse = |key: &str, code: &'static str, message: String| {
            report.push(
                at(key).error(code, message).hint("look at the stock's own data: sizes of label, corners and hole"),
            );
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

/// What so many labels take, with the gaps between them.
fn side_by_side(label: &Length, gap: &Length, count: u32) -> Length {
    let count = i64::from(count);
    &label.times(&Number::int(count)) + &gap.times(&Number::int(count - 1))
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

/// A width and a height.
fn read_size(node: &Node<'_>, report: &mut Diagnostics) -> Option<(Length, Length)> {
    let size = "write width by height, such as `4 in x 6 in`";
    let text = node.text(report)?;
    let Ok(extent) = parse::extent(&text) else {
        report.push(node.error("bad-size", format!("`{text}` is no size")).hint(size));
        return None;
    };
    match extent {
        Extent::Rectangle { length, width } if !length.is_zero() && !width.is_zero() => {
            let checked = [&length, &width].into_iter().try_for_each(|side| range::PAPER.check(side, &text));
            if let Err(refusal) = checked {
                let problem = node.error("out-of-range", refusal.message);
                report.push(refusal.hints.into_iter().fold(problem, Diagnostic::hint));
                return None;
            }
            Some((length, width))
        }
        _ => {
            report.push(node.error("bad-size", format!("`{text}` is no size")).hint(size));
            None
        }
    }
}

fn read_sheet(node: &Node<'_>, report: &mut Diagnostics) -> Option<(Length, Length)> {
    let tenths = |a: i64, b: i64| (Length::metres(Number::ratio(a, 10_000)), Length::metres(Number::ratio(b, 10_000)));
    let text = node.text(report)?;
    match PageSize::WORDS.iter().find(|(word, _)| *word == text) {
        Some((_, PageSize::UsLetter)) => Some(tenths(2_159, 2_794)),
        Some((_, PageSize::A4)) => Some(tenths(2_100, 2_970)),
        // a word, not a size
        None if !text.starts_with(|c: char| c.is_ascii_digit() || c == '.') => {
            let words: Vec<&str> = PageSize::WORDS.iter().map(|(word, _)| *word).collect();
            let mut problem = node.error("unknown-word", format!("`{text}` is no page size known here"));
            problem.hints.extend(nearest(&text.to_lowercase(), &words).map(Diagnostic::meant));
            report.push(problem.hint(format!("one of: {}, or a size such as `8.5 in x 11 in`", words.join(", "))));
            None
        }
        None => read_size(node, report),
    }
}

fn sheet_shape() -> Shape {
    Shape::Either(vec![PageSize::shape(), Shape::line("a size, width by height", Line::Text)])
}

impl HoleKeys {
    fn on_label(self, width: &Length, height: &Length, report: &mut Diagnostics) -> Option<Hole> {
        let HoleKeys { diameter, from_top, from_left, origin } = self;
        if from_top.is_none() && from_left.is_none() {
            let hint = "give `from_top`, `from_left` or both: the distance from the label's edge to the hole's centre";
            report.push(origin.error("bad-hole", "it is not said where the hole is").hint(hint));
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
                report.push(
                    origin.error("bad-hole", message).hint("`from_top` and `from_left` lead to the middle of the hole"),
                );
                inside = false;
            }
        }
        inside.then_some(hole)
    }
}
