//! Keys of files, each declared once: from the declaration come the struct, its reader, the JSON Schema, and the manual.
//!
//! `serde` with `schemars` was weighed first: serde stops at the first problem and knows no places, so that a second pass over
//! tree and schema would have to find again what the reader knows, and every quantity would need its three descriptions by hand.
//! With one macro over [`Node`] the struct is the declaration, every problem of a group is collected in the order of its keys,
//! and a key takes one line and its description. What several keys or several files decide together (a product's form and its
//! dilution, a job's sprayer and the company's) is an ordinary function over the declared structs.

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
    /// What is read.
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

/// A value that is read later, once what it depends on has been: problems are then reported in the order in which they are found
/// out.
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

impl Declared for String {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Self> {
        node.text(report)
    }

    fn shape() -> Shape {
        Shape::line("text", Line::Any)
    }
}

impl Declared for bool {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Self> {
        node.flag(report)
    }

    fn shape() -> Shape {
        Shape::YesNo
    }
}

/// One or several.
impl<T: Declared> Declared for Vec<T> {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Self> {
        let items = node.items_or_one(report)?;
        Some(items.iter().filter_map(|item| T::from_node(item, report)).collect())
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

macro_rules! parsed_types {
    ($($type:ident: $read:expr, $line:expr, $what:literal;)+) => {$(
        impl Declared for $type {
            fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Self> {
                node.parse(report, $read)
            }

            fn shape() -> Shape {
                Shape::line($what, $line)
            }
        }
    )+};
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
        let none = if self.or_none { ", or none" } else { "" };
        K::shape().ranged(format!("{} to {}{us}{none}", self.least, self.most))
    }
}

/// A quantity within its range; none of it at all is refused in words of its own.
pub(crate) struct Some_<K: 'static> {
    range: &'static Range<K>,
    code: &'static str,
    message: &'static str,
}

/// As the range alone, with a code and message of its own for none at all.
pub(crate) fn some_of<K>(range: &'static Range<K>, code: &'static str, message: &'static str) -> Some_<K> {
    Some_ { range, code, message }
}

impl<K: Readable + Declared> Kind for Some_<K> {
    type Value = K;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<K> {
        if node.parse(report, K::read)?.figure().is_zero() {
            report.push(node.error(self.code, self.message));
            return None;
        }
        node.within(report, self.range)
    }

    fn shape(&self) -> Shape {
        self.range.shape()
    }
}

/// A function for what no other kind fits, with the shape of what it takes.
pub(crate) struct Custom<T, S> {
    read: fn(&Node<'_>, &mut Diagnostics) -> Option<T>,
    shape: S,
}

/// Reads by a function.
pub(crate) fn custom<T, S: Fn() -> Shape>(
    read: fn(&Node<'_>, &mut Diagnostics) -> Option<T>,
    shape: S,
) -> Custom<T, S> {
    Custom { read, shape }
}

/// Reads one line of text by a function; `what` says what it is, with its article.
pub(crate) fn text<T>(
    what: &'static str,
    read: fn(&Node<'_>, &mut Diagnostics) -> Option<T>,
) -> Custom<T, impl Fn() -> Shape> {
    custom(read, move || Shape::line(what, Line::Any))
}

impl<T, S: Fn() -> Shape> Kind for Custom<T, S> {
    type Value = T;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<T> {
        (self.read)(node, report)
    }

    fn shape(&self) -> Shape {
        (self.shape)()
    }
}

/// A whole number within bounds; what lies outside is `bad-count`.
pub(crate) struct Count {
    least: u32,
    most: u32,
}

/// A count from `least` to `most`.
pub(crate) const fn count(least: u32, most: u32) -> Count {
    Count { least, most }
}

impl Kind for Count {
    type Value = u32;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<u32> {
        let text = node.text(report)?;
        let count = text.parse().ok().filter(|count| (self.least..=self.most).contains(count));
        if count.is_none() {
            let message = format!("`{text}` is not a count from {} to {}", self.least, self.most);
            report.push(node.error("bad-count", message));
        }
        count
    }

    fn shape(&self) -> Shape {
        Shape::Count { least: self.least, most: self.most }
    }
}

/// A quantity whose figure in its base unit lies from one bound to another; `wanted` says so in words.
pub(crate) struct Bounded<T> {
    bounds: (i64, i64),
    wanted: &'static str,
    kind: PhantomData<fn() -> T>,
}

/// A quantity whose figure in its base unit lies within `bounds`.
pub(crate) fn bounded<T: Readable>(bounds: (i64, i64), wanted: &'static str) -> Bounded<T> {
    Bounded { bounds, wanted, kind: PhantomData }
}

impl<T: Declared + Readable> Kind for Bounded<T> {
    type Value = T;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<T> {
        let read = T::from_node(node, report)?;
        let (least, most) = self.bounds;
        if *read.figure() >= least && *read.figure() <= most {
            return Some(read);
        }
        report.push(node.error("out-of-range", format!("{} is wanted here", self.wanted)));
        None
    }

    fn shape(&self) -> Shape {
        T::shape().ranged(self.wanted.to_owned())
    }
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

/// The text of `///` lines.
macro_rules! about {
    () => { "" };
    (#[doc = $line:literal] $($rest:tt)*) => { concat!($line, "\n", $crate::yaml::about!($($rest)*)) };
    (#[$($other:tt)*] $($rest:tt)*) => { $crate::yaml::about!($($rest)*) };
}

/// Declares a group of keys: the struct that holds them, its reader, and what schema and manual say of it.
///
/// ```text
/// keys! {
///     /// What the group is.
///     pub struct Pace {
///         /// How fast it moves along. Example: `60 ft/min`
///         speed: Speed = &range::PACE, required;
///         /// A name.
///         name: String, optional;                        // an `Option`
///         /// A product.
///         product: At<String>, wanted;                   // an `Option` too, reported where it is missing
///         /// Marks.
///         step: Mass = &range::MARK, or(one_gram(), "1 g");    // where the key is absent
///         /// Refused in words of its own, and in neither schema nor manual.
///         secret: () = text("nothing", refuse), hidden;
///     }
///     + origin                                           // a field of this name says where the group stands
///     => check                                           // looks at the keys themselves, whether they can be read or not
/// }
/// ```
///
/// The type says how a value is read unless a [`Kind`] stands behind `=`. A value that cannot be read is reported and taken as
/// absent; a group that lacks what is `required` is itself absent, and one that lacks what is `wanted` goes on, so that later
/// checks find what else is wrong.
macro_rules! keys {
    (
        $(#[$($attr:tt)*])* $vis:vis struct $name:ident { $(
            $(#[$($about:tt)*])* $key:ident: $type:ty $(= $kind:expr)?, $presence:ident $(($default:expr, $shown:literal))?;
        )+ } $(+ $(#[$($hidden:tt)*])* $origin:ident)? $(=> $also:path)?
    ) => {
        $(#[$($attr)*])*
        $vis struct $name {
            $($(#[$($about)*])* pub $key: $crate::yaml::keys!(@type $presence $type),)+
            $($(#[$($hidden)*])* pub(crate) $origin: $crate::yaml::Origin,)?
        }

        impl $crate::yaml::Declared for $name {
            fn from_node(node: &$crate::yaml::Node<'_>, report: &mut $crate::diagnostic::Diagnostics) -> Option<Self> {
                #[allow(unused_imports, reason = "not every group has a key without a kind")]
                use $crate::yaml::{Kind, Plain};
                let fields = node.fields(&[$(stringify!($key)),+], report)?;
                // all are read before any is missed, so that every problem is reported
                $(let $key = {
                    let kind = $crate::yaml::keys!(@kind $type $(= $kind)?);
                    $crate::yaml::keys!(@read fields report kind $key $presence $(($default))?)
                };)+
                $($also(&fields, report);)?
                Some($name {
                    $($key: $crate::yaml::keys!(@take $presence $key),)+
                    $($origin: node.origin(),)?
                })
            }

            fn shape() -> $crate::yaml::Shape {
                #[allow(unused_imports, reason = "not every group has a key without a kind")]
                use $crate::yaml::Plain;
                $crate::yaml::Shape::Group($crate::yaml::Group {
                    name: stringify!($name),
                    about: $crate::yaml::about!($(#[$($attr)*])*),
                    keys: vec![$($crate::yaml::Key {
                        name: stringify!($key),
                        about: $crate::yaml::about!($(#[$($about)*])*),
                        shape: $crate::yaml::Kind::shape(&$crate::yaml::keys!(@kind $type $(= $kind)?)),
                        presence: $crate::yaml::keys!(@presence $presence $($shown)?),
                    }),+],
                })
            }
        }
    };

    (@type wanted $type:ty) => { Option<$type> };
    (@type optional $type:ty) => { Option<$type> };
    (@type hidden $type:ty) => { Option<$type> };
    (@type $presence:ident $type:ty) => { $type };

    (@kind $type:ty) => { Plain::<$type>::NEW };
    (@kind $type:ty = $kind:expr) => { $kind };

    (@read $fields:ident $report:ident $kind:ident $key:ident required) => {
        $fields.need(stringify!($key), $report).and_then(|node| Kind::read(&$kind, &node, $report))
    };
    (@read $fields:ident $report:ident $kind:ident $key:ident wanted) => {
        $crate::yaml::keys!(@read $fields $report $kind $key required)
    };
    (@read $fields:ident $report:ident $kind:ident $key:ident optional) => {
        $fields.get(stringify!($key)).and_then(|node| Kind::read(&$kind, &node, $report))
    };
    (@read $fields:ident $report:ident $kind:ident $key:ident hidden) => {
        $crate::yaml::keys!(@read $fields $report $kind $key optional)
    };
    (@read $fields:ident $report:ident $kind:ident $key:ident or($default:expr)) => {
        match $fields.get(stringify!($key)) {
            Some(node) => Kind::read(&$kind, &node, $report).or_else(|| Some($default)),
            None => Some($default),
        }
    };

    (@take wanted $key:ident) => { $key };
    (@take optional $key:ident) => { $key };
    (@take hidden $key:ident) => { $key };
    (@take $presence:ident $key:ident) => { $key? };

    (@presence required) => { $crate::yaml::Presence::Required };
    (@presence wanted) => { $crate::yaml::Presence::Required };
    (@presence hidden) => { $crate::yaml::Presence::Hidden };
    (@presence optional) => { $crate::yaml::Presence::Optional };
    (@presence or $shown:literal) => { $crate::yaml::Presence::Default($shown) };
}

/// Declares the words that a file chooses from: the enum, its words, and what each means. `for` adds words to an enum of
/// another module.
macro_rules! words {
    ($(#[$($attr:tt)*])* $vis:vis enum $name:ident { $($(#[$($about:tt)*])* $variant:ident = $word:literal,)+ }) => {
        $(#[$($attr)*])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        $vis enum $name { $($(#[$($about)*])* $variant,)+ }

        impl $name {
            /// The words a file may use.
            #[allow(dead_code, reason = "not all words are asked for as a whole")]
            pub const WORDS: &'static [(&'static str, $name)] = &[$(($word, $name::$variant)),+];

            /// The word a file uses.
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word),+ }
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(self.word())
            }
        }

        $crate::yaml::words! { for $name { $($(#[$($about)*])* $variant = $word,)+ } }
    };
    (for $name:ident { $($(#[$($about:tt)*])* $variant:ident = $word:literal,)+ }) => {
        impl $crate::yaml::Declared for $name {
            fn from_node(node: &$crate::yaml::Node<'_>, report: &mut $crate::diagnostic::Diagnostics) -> Option<Self> {
                node.choice(report, &[$(($word, $name::$variant)),+])
            }

            fn shape() -> $crate::yaml::Shape {
                $crate::yaml::Shape::Words(&[$(($word, $crate::yaml::about!($(#[$($about)*])*))),+])
            }
        }
    };
}

pub(crate) use {about, keys, words};

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::super::{Source, TableShape};
    use super::*;
    use crate::quantity::range;

    words! {
        /// How it is done.
        pub enum Way {
            /// the first way
            One = "one",
            /// the second way
            Other = "other",
        }
    }

    keys! {
        /// A thing.
        struct Thing {
            /// Its name. Example: `pump`
            name: String, required;
            /// How long it takes. Example: `10 min`
            time: Time = &range::CONTACT, wanted;
            /// How.
            way: Way, or(Way::One, "one");
            /// Parts of it.
            parts: Vec<Part> = list_of::<Part>(), or(Vec::new(), "[]");
        }
        + origin => not_both
    }

    keys! {
        /// A part.
        struct Part {
            /// How many.
            count: u32 = count(1, 9), optional;
        }
    }

    fn not_both(fields: &super::super::Fields<'_>, report: &mut Diagnostics) {
        if fields.holds("way") && fields.holds("parts") {
            report.push(fields.node().error("both", "a thing with a way has no parts"));
        }
    }

    fn read(text: &str) -> (Option<Thing>, String) {
        let mut report = Diagnostics::new();
        let source = Source::from_text(Path::new("t.yaml"), text.to_owned(), &mut report).expect("YAML");
        (Thing::from_node(&source.root(), &mut report), report.to_string())
    }

    #[test]
    fn every_problem_of_a_group_is_reported_at_once() {
        let (thing, reported) = read("nmae: x\ntime: 3 days\nway: noe\nparts: [{ count: 10 }]\n");
        assert!(thing.is_none());
        for part in [
            "did you mean `name`?",
            "`name` is missing here",
            "a contact time lies between 1 s and 24 h",
            "did you mean `one`?",
            "`10` is not a count from 1 to 9",
            "a thing with a way has no parts",
        ] {
            assert!(reported.contains(part), "no {part:?} in:\n{reported}");
        }
    }

    #[test]
    fn what_is_absent_has_its_default_and_what_is_wanted_goes_on() {
        let (thing, reported) = read("name: x\n");
        let thing = thing.expect("a thing");
        assert!(reported.contains("`time` is missing here"), "{reported}");
        assert_eq!((thing.name.as_str(), thing.time.is_none(), thing.way), ("x", true, Way::One));
        assert!(thing.parts.iter().all(|part| part.count.is_none()) && !thing.origin.has("way"));
    }

    /// One declaration, and nothing else to write: the schema, the manual and the columns of a table have every key.
    #[test]
    fn schema_manual_and_columns_come_from_the_declaration() {
        let shape = Thing::shape();
        let schema = shape.schema("A thing");
        let keys: Vec<&String> = schema["properties"].as_object().expect("keys").keys().collect();
        assert_eq!(keys, ["name", "time", "way", "parts"]);
        assert_eq!(schema["required"], serde_json::json!(["name", "time"]));
        assert_eq!(schema["properties"]["time"]["examples"], serde_json::json!(["10 min"]));
        assert_eq!(schema["$defs"]["Part"]["properties"]["count"]["maximum"], 9);
        let manual = shape.manual();
        for line in [
            "name: text (required)",
            "      Range: 1 s to 24 h.",
            "way: one of one, other (one by default)",
            "      `other`: the second way.",
            "  count: a whole number from 1 to 9 (optional)",
        ] {
            assert!(manual.lines().any(|found| found == line), "no {line:?} in:\n{manual}");
        }
        let mut report = Diagnostics::new();
        let (file, table) = (Path::new("t.csv"), TableShape::of(&shape));
        let source = Source::table_from_text(file, "what,name,count\nname,x,\npart,,3\n", &table, &mut report);
        let thing = source.and_then(|source| Thing::from_node(&source.root(), &mut report)).expect("a thing");
        assert_eq!((thing.name.as_str(), thing.parts[0].count), ("x", Some(3)));
    }
}
