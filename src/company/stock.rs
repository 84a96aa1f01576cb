//! Label stock: a roll of one, a sheet of many, a tag with a hole. What it is, and how large; reading it from the
//! company file stands in `stock/read.rs`.

pub(crate) mod read;

use super::Regime;
use crate::quantity::{Length, Number};
use crate::yaml::{At, words};

/// A kind of label, and the page it comes on. All lengths are those of the stock as it lies in the printer.
#[derive(Clone, Debug)]
pub struct Stock {
    /// Width of the page.
    pub page_width: Length,
    /// Height of the page.
    pub page_height: Length,
    /// Width of one label.
    pub width: Length,
    /// Height of one label.
    pub height: Length,
    /// Labels side by side.
    pub columns: u32,
    /// Labels one below the other.
    pub rows: u32,
    /// From the page's left edge to the first label.
    pub left: Length,
    /// From the page's top edge to the first label.
    pub top: Length,
    /// Between columns.
    pub gap_x: Length,
    /// Between rows.
    pub gap_y: Length,
    /// Radius of the rounded corners.
    pub corners: Length,
    /// From a label's edge to the nearest print: room for a printer that feeds a little askew.
    pub safe: Length,
    /// Whether what is printed lies turned by a quarter on the stock, its head at the stock's left edge.
    pub turned: bool,
    /// A hole to tie the label on by.
    pub hole: Option<Hole>,
    /// What the printer of this stock prints with.
    pub ink: Ink,
    /// How many of each label are printed where nothing else says so.
    pub copies: u32,
    /// Whose rules its labels follow: its own, or else the company's.
    pub regime: Regime,
    own_regime: Option<At<Regime>>,
}

/// A hole in a tag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hole {
    /// Across.
    pub diameter: Length,
    /// From the label's left edge to the hole's centre.
    pub from_left: Length,
    /// From the label's top edge to the hole's centre.
    pub from_top: Length,
}

words! {
    /// What a label is printed with.
    #[derive(Default)]
    pub enum Ink {
        /// colors: the frames of pictograms are red
        #[default]
        Color = "color",
        /// black alone, as thermal printers do: red would be broken up into dots
        Black = "black",
    }
}

words! {
    /// What a label is for, by its size and hole. Each has a layout of its own.
    ///
    /// The sizes between are those that CLP names for packages of up to 3 L, 3 to 50 L and above (Regulation (EC)
    /// 1272/2008, Annex I, Table 1.3): 52 × 74, 74 × 105 and 105 × 148 mm, compared by area. The first is taken a little
    /// larger, 4000 mm², so that inch stock of 3 × 2 in (3871 mm²) counts with it.
    #[derive(PartialOrd, Ord)]
    pub enum SizeClass {
        /// up to 4000 mm²: spray bottles, wipes
        SmallBottle = "small-bottle",
        /// below 74 × 105 mm: trigger bottles, jugs
        LargeBottle = "large-bottle",
        /// below 105 × 148 mm: sprayer tanks, buckets
        Tank = "tank",
        /// any label with a hole
        Tag = "tag",
        /// larger: drums, stationary tanks
        Drum = "drum",
    }
}

/// Distances from the edges of what is printed, upright as it is read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Insets {
    /// From the head.
    pub top: Length,
    /// From the right.
    pub right: Length,
    /// From the foot.
    pub bottom: Length,
    /// From the left.
    pub left: Length,
}

impl Stock {
    /// Labels on a page.
    pub fn per_page(&self) -> u32 {
        self.columns * self.rows
    }

    /// Area of one label in square millimetres.
    pub fn square_millimetres(&self) -> Number {
        &millimetres(&self.width) * &millimetres(&self.height)
    }

    /// What it is for.
    pub fn class(&self) -> SizeClass {
        let area = self.square_millimetres();
        if self.hole.is_some() {
            SizeClass::Tag
        } else if area <= Number::int(4000) {
            SizeClass::SmallBottle
        } else if area < Number::int(74 * 105) {
            SizeClass::LargeBottle
        } else if area < Number::int(105 * 148) {
            SizeClass::Tank
        } else {
            SizeClass::Drum
        }
    }

    /// Whether the labels of both lie alike on alike pages and follow the same rules, so that they can share sheets. What they are printed with
    /// and how often does not matter.
    pub fn same_sheet(&self, other: &Stock) -> bool {
        let lengths = |s: &Stock| {
            let all = [
                &s.page_width,
                &s.page_height,
                &s.width,
                &s.height,
                &s.left,
                &s.top,
                &s.gap_x,
                &s.gap_y,
                &s.corners,
                &s.safe,
            ];
            all.map(Length::clone)
        };
        lengths(self) == lengths(other)
            && (self.columns, self.rows, self.turned) == (other.columns, other.rows, other.turned)
            && self.hole == other.hole
            && self.regime == other.regime
    }

    /// Where print must stay away, as seen by a reader: the safe distance all round, and on the side where a hole is
    /// the whole strip up to the far side of it and the safe distance beyond.
    pub fn insets(&self) -> Insets {
        let safe = || self.safe.clone();
        // as the stock lies: left, top, right, bottom
        let mut lying = [safe(), safe(), safe(), safe()];
        if let Some(hole) = &self.hole {
            let reach = &half(&hole.diameter) + &self.safe;
            let from = [
                hole.from_left.clone(),
                hole.from_top.clone(),
                &self.width - &hole.from_left,
                &self.height - &hole.from_top,
            ];
            // a hole is near one edge: the strip along that edge costs the least
            let nearest = (0..4).min_by(|a, b| from[*a].cmp(&from[*b])).unwrap_or(1);
            lying[nearest] = &from[nearest] + &reach;
        }
        let [left, top, right, bottom] = lying;
        if self.turned {
            // turned against the clock: the reader's head is the stock's left edge, his right is the stock's top
            Insets { top: left, right: top, bottom: right, left: bottom }
        } else {
            Insets { top, right, bottom, left }
        }
    }
}

/// A length in millimetres.
pub(crate) fn millimetres(length: &Length) -> Number {
    length.as_metres() * &Number::int(1000)
}

fn half(length: &Length) -> Length {
    length.times(&Number::ratio(1, 2))
}

#[cfg(test)]
mod tests;
