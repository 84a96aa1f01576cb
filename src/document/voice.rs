//! How figures and moments are said in one language and one system of units.

use jiff::civil::{Date, DateTime, Weekday};
use minijinja::context;
use minijinja::value::Serde;
use serde_json::{Value, json};

use super::DocumentError;
use crate::calc::Amount;
use crate::job::Reading;
use crate::plan::{Plan, Reentry, StripPlan, TreatmentPlan, whole_minute};
use crate::quantity::{Number, Printer, Shown, Strength, Time};
use crate::record::{Missing, Record, code};
use crate::wording::{WordingError, Words};

/// A figure as it is shown: the main form and the other system's.
pub type Fact = Shown;

/// A language and a system of units, with the plan and record that are being put into words.
#[derive(Clone, Copy, Debug)]
pub struct Voice<'a> {
    /// The language.
    pub words: &'a Words,
    /// The units.
    pub units: Printer<'a>,
    /// The plan.
    pub plan: &'a Plan,
    /// Its record.
    pub record: &'a Record,
}

impl Voice<'_> {
    /// `Mon 13 Apr 2026`
    pub(super) fn date(&self, date: Date) -> Result<String, WordingError> {
        let day = match date.weekday() {
            Weekday::Monday => "mon",
            Weekday::Tuesday => "tue",
            Weekday::Wednesday => "wed",
            Weekday::Thursday => "thu",
            Weekday::Friday => "fri",
            Weekday::Saturday => "sat",
            Weekday::Sunday => "sun",
        };
        let weekday = self.words.word(&format!("weekday.{day}"))?;
        let month = self.words.word(&format!("month.m{}", date.month()))?;
        self.words.say("date", context! { weekday, day => date.day(), month, year => date.year() })
    }

    /// `18:05`; seconds are carried up to the next minute, so that nobody comes back early.
    pub(super) fn clock(&self, moment: DateTime) -> String {
        let moment = whole_minute(moment);
        format!("{:02}:{:02}", moment.hour(), moment.minute())
    }

    /// `18:05` on the day of the visit, `Tue 14 Apr 2026, 00:20` on any other.
    pub(super) fn moment(&self, moment: DateTime) -> Result<String, WordingError> {
        let moment = whole_minute(moment);
        if moment.date() == self.plan.start.date() {
            return Ok(self.clock(moment));
        }
        Ok(format!("{}, {}", self.date(moment.date())?, self.clock(moment)))
    }

    /// When people may come back, or that nobody knows.
    pub(super) fn reentry(&self, reentry: Reentry) -> Result<String, WordingError> {
        match reentry {
            Reentry::At(moment) => self.moment(moment),
            Reentry::NotKnown => Ok(self.words.word("reentry_not_known")?.to_owned()),
        }
    }

    /// `Mon 20 Apr 2026, 18:05`, cut down to the minute: nothing is kept longer than it may be.
    pub(super) fn until(&self, moment: DateTime) -> Result<String, WordingError> {
        Ok(format!("{}, {:02}:{:02}", self.date(moment.date())?, moment.hour(), moment.minute()))
    }

    /// Product of a load, in the unit that its measure is marked in.
    pub(super) fn dose(&self, amount: &Amount) -> Result<Shown, WordingError> {
        match amount {
            Amount::Liquid(volume) => Ok(self.units.measured_product(volume)),
            amount => self.amount(amount),
        }
    }

    /// Product, in the reader's system.
    pub(super) fn amount(&self, amount: &Amount) -> Result<Shown, WordingError> {
        Ok(match amount {
            Amount::None => Shown { main: String::new(), also: String::new() },
            Amount::Liquid(volume) => self.units.product_volume(volume),
            Amount::Powder(mass) => self.units.mass(mass),
            Amount::Tablets(count) if *count == Number::one() => {
                Shown { main: self.words.word("tablet")?.to_owned(), also: String::new() }
            }
            Amount::Tablets(count) => {
                let main = self.words.say("tablets", context! { count => self.units.count(count).main })?;
                Shown { main, also: String::new() }
            }
        })
    }

    /// The readings that pass: `600 to 800 ppm`; `> 600 to 800 ppm` where the lower block itself does not pass, `600 to < 800 ppm`
    /// where the upper one does not; `600 ppm` where only one does.
    pub(super) fn band(&self, strip: &StripPlan) -> Result<Option<String>, WordingError> {
        let band = strip.band();
        band.map(|b| self.edges(&b.low, b.low_passes, &b.high, b.high_passes)).transpose()
    }

    /// A band by its edges and whether they pass.
    pub(super) fn edges(
        &self,
        low: &Strength,
        low_passes: bool,
        high: &Strength,
        high_passes: bool,
    ) -> Result<String, WordingError> {
        let key = match (low_passes, high_passes) {
            (true, true) => return self.between(low, high),
            (false, true) => "range_above",
            (true, false) => "range_below",
            (false, false) => "range_between",
        };
        let blanks = context! { low => self.bare(low), high => self.units.strength(high).main };
        self.words.say(key, blanks)
    }

    /// What was read: a block, a space between two, or an instrument's figure with its error.
    pub(super) fn reading(&self, reading: &Reading) -> Result<String, WordingError> {
        match &reading.instrument {
            None => self.between(&reading.low, &reading.high),
            Some(error) => {
                let error = self.units.strength(error).main;
                self.words.say("with_error", context! { figure => self.bare(&reading.low), error })
            }
        }
    }

    /// `600 to 800 ppm`
    pub(super) fn between(&self, low: &Strength, high: &Strength) -> Result<String, WordingError> {
        if low == high {
            return Ok(self.units.strength(low).main);
        }
        self.words.say("range", context! { low => self.bare(low), high => self.units.strength(high).main })
    }

    /// A strength without its unit, as a strip's block is printed.
    pub(super) fn bare(&self, strength: &Strength) -> String {
        self.units.count(strength.as_milligrams_per_litre()).main
    }

    /// The dilution and what it means: (`2 fl oz/gal`, `1 part product + 64 parts water`, the sentence).
    pub(super) fn dilution(&self, treatment: &TreatmentPlan) -> Result<(String, String, String), WordingError> {
        use crate::quantity::Basis;
        let dilution = self.units.dilution(&treatment.directions.dilution).main;
        let parts_of_water = treatment.ratio.parts_of_water();
        let parts = parts_of_water.map(|water| match treatment.basis() {
            Some(Basis::MadeUpTo) => water + Number::one(),
            _ => water,
        });
        let parts_shown = parts.as_ref().map(|p| self.units.count(&p.round_to(&step_of(p))).main);
        let key = match (treatment.basis(), &parts_shown) {
            (None, _) => "ready",
            (Some(Basis::AddedTo), Some(_)) => "added_parts",
            (Some(Basis::MadeUpTo), Some(_)) => "made_up_parts",
            (Some(Basis::AddedTo), None) => "added",
            (Some(Basis::MadeUpTo), None) => "made_up",
        };
        let blanks = context! { dilution => &dilution, parts => parts_shown };
        let short = self.words.say(&format!("short_meaning.{key}"), blanks.clone())?;
        let long = self.words.say(&format!("meaning.{key}"), blanks)?;
        let long = match &treatment.directions.dilution_most {
            Some(most) => {
                let most = self.units.dilution(most).main;
                self.words.say("meaning.most", context! { meaning => long, most })?
            }
            None => long,
        };
        Ok((dilution, short, long))
    }

    /// The printed code, as templates take it.
    pub(super) fn qr(&self) -> Result<Value, DocumentError> {
        let code = code(&self.record.link).ok_or(DocumentError::Code)?;
        let alt = self.words.say("qr_alt", context! { link => &self.record.link })?;
        Ok(json!({ "svg": code.svg, "alt": alt }))
    }

    /// How long, in words.
    pub(super) fn time(&self, time: &Time) -> String {
        self.units.time(time).main
    }

    /// Whole minutes, rounded up, for a column that says so in its head.
    pub(super) fn minutes(&self, time: &Time) -> String {
        self.units.count(&whole_minutes(time)).main
    }
}

/// Minutes, carried up to a whole one.
pub(super) fn whole_minutes(time: &Time) -> Number {
    time.as_minutes().ceil_to(&Number::one())
}

/// Parts are said to a whole above ten and to a tenth below.
fn step_of(parts: &Number) -> Number {
    if *parts < Number::int(10) { Number::ratio(1, 10) } else { Number::one() }
}

/// What a certificate lacks, in words.
///
/// # Errors
/// [`WordingError`] if the language file lacks a sentence.
pub fn missing_texts(words: &Words, missing: &[Missing]) -> Result<Vec<String>, WordingError> {
    missing.iter().map(|m| words.say(&format!("certificate.missing.{}", m.what()), Serde(m))).collect()
}
