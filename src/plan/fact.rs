//! Facts: what fills in the sentence of a caution. Values, put into words and units when a document is made.

use jiff::civil::{Date, DateTime};
use serde::Serialize;

use crate::quantity::{Area, Film, Length, Number, Share, Strength, Temperature, Time, Volume};

/// A fact.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fact {
    /// As the user or a standard words it.
    Text(String),
    /// A key of the language file.
    Word(String),
    /// Several facts, one after the other.
    List(Vec<Fact>),
    /// A bare number.
    Count(Number),
    /// How much liquid.
    Volume(Volume),
    /// mg/L.
    Strength(Strength),
    /// Of a whole.
    Share(Share),
    /// A length of time.
    Time(Time),
    /// A moment.
    Moment(DateTime),
    /// A day.
    Day(Date),
    /// Solution on a surface, said as a coverage.
    Coverage(Film),
    /// So much solution.
    Solution(Volume),
    /// How large.
    Area(Area),
    /// How long.
    Length(Length),
    /// A droplet's diameter, or a film's thickness.
    Micrometres(Length),
    /// How warm.
    Temperature(Temperature),
}

impl Fact {
    /// As the user or a standard words it.
    pub fn text(text: impl Into<String>) -> Fact {
        Fact::Text(text.into())
    }
}
