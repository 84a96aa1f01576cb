//! How declared values are read: by their type, or by a [`Kind`]. The macros that declare keys stand in `keys.rs`.
//!
//! Why not `serde` with `schemars`: serde stops at the first problem and knows no places, so a second pass over tree and schema
//! would have to find again what the reader knows. Here the struct is the declaration, and every problem of a group is collected
//! in the order of its keys. What several keys or files decide together is an ordinary function over the declared structs.

use std::collections::BTreeMap;
use std::marker::PhantomData;

use jiff::civil::{Date, DateTime};

use super::shape::{Line, Shape};
use super::{Complaint, Node, Origin, date, moment};
use crate::diagnostic::Diagnostics;
use crate::quantity::{
    Area, Density, Film, Flow, Length, Mass, Number, Pressure, Range, Readable, Share, Speed, Strength, Temperature,
    Time, Volume, parse,
};

/// A type that is always read the same way, wherever it stands.
pub(crate) trait Declared: Sized {
    /// Reads a value; what is wrong with it is reported.
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Self>;
    /// What may stand there.
    fn shape() -> Shape;
}

/// One way to read a value, where the type alone does not say: a range, a list of its own form.
pub(crate) trait Kind {
    type Value;
    /// Reads a value; what is wrong with it is reported.
    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<Self::Value>;
    /// What may stand there.
    fn shape(&self) -> Shape;
}

/// The way of the type itself.
pub(crate) struct Plain<T>(PhantomData<fn() -> T>);

impl<T> Plain<T> {
    pub(crate) const NEW: Self = Plain(PhantomData);
}

impl<T: Declared> Kind for Plain<T> {
    type Value = T;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<T> {
        T::from_node(node, report)
    }

    fn shape(&self) -> Shape {
        T::shape()
    }
}

/// A value and where it stands, for checks that come later.
#[derive(Clone, Debug)]
pub struct At<T> {
    pub(crate) value: T,
    pub(crate) origin: Origin,
}

impl<T: Declared> Declared for At<T> {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Self> {
        Some(At { value: T::from_node(node, report)?, origin: node.origin() })
    }

    fn shape() -> Shape {
        T::shape()
    }
}

impl At<String> {
    /// The text as whatever `read` makes of it, where that takes more than the text.
    pub(crate) fn parse<T, E: Complaint>(
        &self,
        report: &mut Diagnostics,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<T> {
        read(&self.value).map_err(|refusal| report.push(self.origin.refused(&refusal))).ok()
    }
}

/// A value that is read after what it depends on, so that problems are reported in that order.
#[derive(Debug)]
pub struct Later<T> {
    origin: Origin,
    kind: PhantomData<fn() -> T>,
}

impl<T: Declared> Later<T> {
    pub(crate) fn read(&self, report: &mut Diagnostics) -> Option<T> {
        T::from_node(&self.origin.node()?, report)
    }
}

impl<T: Declared> Declared for Later<T> {
    fn from_node(node: &Node<'_>, _: &mut Diagnostics) -> Option<Self> {
        Some(Later { origin: node.origin(), kind: PhantomData })
    }

    fn shape() -> Shape {
        T::shape()
    }
}

/// One or several; all of them, or none where one cannot be read.
impl<T: Declared> Declared for Vec<T> {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Self> {
        let items = node.items_or_one(report)?;
        let read: Vec<T> = items.iter().filter_map(|item| T::from_node(item, report)).collect();
        // half of it would be taken for all
        (read.len() == items.len()).then_some(read)
    }

    fn shape() -> Shape {
        Shape::List { of: Box::new(T::shape()), or_one: true }
    }
}

/// By keys of the user's choice, which may become part of a file name.
impl<T: Declared> Declared for BTreeMap<String, T> {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Self> {
        let mut found = BTreeMap::new();
        for (key, node) in node.entries(report)? {
            if !plain_key(&key) {
                let hint = "use letters, digits, `-`, `_` and `.` (at most 64): the key may become part of a file name";
                report.push(node.error("bad-name", format!("`{key}` cannot be used as a key")).hint(hint));
            }
            if let Some(value) = T::from_node(&node, report) {
                found.insert(key, value);
            }
        }
        Some(found)
    }

    fn shape() -> Shape {
        Shape::ByKey { of: Box::new(T::shape()), plain: true }
    }
}

/// Keys of products, sprayers and stock: they name files and must be plain.
pub(crate) fn plain_key(key: &str) -> bool {
    !key.is_empty()
        && key.len() <= 64
        && key.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'))
        && key.starts_with(|c: char| c.is_ascii_alphanumeric())
}

macro_rules! plain_types {
    ($($type:ident: |$node:ident, $report:ident| $read:expr, $shape:expr;)+) => {$(
        impl Declared for $type {
            fn from_node($node: &Node<'_>, $report: &mut Diagnostics) -> Option<Self> {
                $read
            }

            fn shape() -> Shape {
                $shape
            }
        }
    )+};
}

macro_rules! parsed_types {
    ($($type:ident: $read:expr, $line:expr, $what:literal;)+) => {
        plain_types! { $($type: |node, report| node.parse(report, $read), Shape::line($what, $line);)+ }
    };
}

plain_types! {
    String: |node, report| node.text(report), Shape::line("text", Line::Any);
    bool: |node, report| node.flag(report), Shape::YesNo;
}

parsed_types! {
    Volume: parse::volume, Line::Text, "a volume (fl oz, tbsp, tsp, cup, pt, qt, gal, mL, L)";
    Mass: parse::mass, Line::Text, "a mass (oz wt, lb, mg, g, kg)";
    Length: parse::length, Line::Text, "a length (in, ft, yd, um, mm, cm, m)";
    Area: parse::area, Line::Text, "an area (ft2, acre, m2, ha)";
    Flow: parse::flow, Line::Text, "a flow (fl oz/min, gal/min, mL/min, L/min)";
    Speed: parse::speed, Line::Text, "a speed (ft/min, mph, m/s, km/h)";
    Pressure: parse::pressure, Line::Text, "a pressure (psi, kPa, bar)";
    Time: parse::time, Line::Text, "a time (s, min, h, days, weeks)";
    Temperature: parse::temperature, Line::Text, "a temperature (F, C)";
    Density: parse::density, Line::Text, "a density (kg/L, g/mL, lb/gal)";
    Strength: parse::strength, Line::Text, "a strength (ppm, mg/L, g/L)";
    Film: parse::film, Line::Text, "a coverage (ft2/gal, m2/L, mL/m2)";
    Share: parse::share, Line::Text, "a share (%)";
    Number: parse::number, Line::Number, "a number";
    Date: date, Line::Text, "a date (year-month-day)";
    DateTime: moment, Line::Text, "a date and time, as the clocks at the site show it";
}

/// A quantity that lies within what is believed of it.
impl<K: Readable + Declared> Kind for &'static Range<K> {
    type Value = K;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<K> {
        node.within(report, self)
    }

    fn shape(&self) -> Shape {
        let us = if self.us.is_empty() { String::new() } else { format!(" ({})", self.us) };
        let none = if self.or_none { ", or 0" } else { "" };
        K::shape().ranged(format!("{} to {}{us}{none}", self.least, self.most))
    }
}

/// A way to read a value that is made of two functions.
pub(crate) struct Custom<R, S> {
    read: R,
    shape: S,
}

impl<T, R: Fn(&Node<'_>, &mut Diagnostics) -> Option<T>, S: Fn() -> Shape> Kind for Custom<R, S> {
    type Value = T;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<T> {
        (self.read)(node, report)
    }

    fn shape(&self) -> Shape {
        (self.shape)()
    }
}

/// Reads by a function what no other kind fits, with the shape of what it takes.
pub(crate) fn custom<T, R, S>(read: R, shape: S) -> Custom<R, S>
where
    R: Fn(&Node<'_>, &mut Diagnostics) -> Option<T>,
    S: Fn() -> Shape,
{
    Custom { read, shape }
}

/// One line of text, read by a function; `what` says what it is, with its article.
pub(crate) fn text<T>(
    what: &'static str,
    read: impl Fn(&Node<'_>, &mut Diagnostics) -> Option<T>,
) -> impl Kind<Value = T> {
    custom(read, move || Shape::line(what, Line::Any))
}

/// A quantity within its range; zero is refused with a code and message of its own.
pub(crate) fn some_of<K: Readable + Declared>(
    range: &'static Range<K>,
    code: &'static str,
    message: &'static str,
) -> impl Kind<Value = K> {
    let read = move |node: &Node<'_>, report: &mut Diagnostics| {
        if node.parse(report, K::read)?.figure().is_zero() {
            return report.fail(node.error(code, message));
        }
        node.within(report, range)
    };
    custom(read, move || range.shape())
}

/// A whole number from `least` to `most`; what lies outside is `bad-count`.
pub(crate) fn count(least: u32, most: u32) -> impl Kind<Value = u32> {
    let read = move |node: &Node<'_>, report: &mut Diagnostics| {
        let text = node.text(report)?;
        let count = text.parse().ok().filter(|count| (least..=most).contains(count));
        let hint = || format!("write a whole number from {least} to {most}");
        let refusal = || node.error("bad-count", format!("`{text}` is not a count from {least} to {most}"));
        count.or_else(|| report.fail(refusal().hint(hint())))
    };
    custom(read, move || Shape::Count { least, most })
}

/// A quantity whose figure in its base unit lies from one bound to the other; `wanted` says so in words.
pub(crate) fn bounded<T: Declared + Readable>((least, most): (i64, i64), wanted: &'static str) -> impl Kind<Value = T> {
    let read = move |node: &Node<'_>, report: &mut Diagnostics| {
        let read = T::from_node(node, report)?;
        if *read.figure() >= least && *read.figure() <= most {
            return Some(read);
        }
        report.fail(node.error("out-of-range", format!("{wanted} is wanted here")))
    };
    custom(read, move || T::shape().ranged(wanted.to_owned()))
}

/// A list. Items that cannot be read are reported and left out.
pub(crate) struct List<K>(K);

/// A list of what `of` reads; a single value is no list.
pub(crate) fn list<K: Kind>(of: K) -> List<K> {
    List(of)
}

/// A list of values of one type; a single value is no list.
pub(crate) fn list_of<T: Declared>() -> List<Plain<T>> {
    List(Plain::NEW)
}

impl<K: Kind> Kind for List<K> {
    type Value = Vec<K::Value>;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<Self::Value> {
        let items = node.items(report)?;
        Some(items.iter().filter_map(|item| self.0.read(item, report)).collect())
    }

    fn shape(&self) -> Shape {
        Shape::List { of: Box::new(self.0.shape()), or_one: false }
    }
}
