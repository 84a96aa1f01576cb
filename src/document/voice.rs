//! Figures, moments and sentences in one language and one system of units.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};
use minijinja::context;
use minijinja::value::Serde;

use super::calendar::Calendar;
use super::parts::Qr;
use super::{DocumentError, Said};
use crate::calc::{Amount, never_words};
use crate::company::Dates;
use crate::job::Reading;
use crate::plan::{
    Caution, Fact, Measured, Passing, Plan, Reentry, Release, Rinse, StripPlan, TreatmentPlan, whole_minute,
};
use crate::quantity::{Basis, Number, Printer, Shown, Strength, Time};
use crate::record::Record;
use crate::wording::Words;

/// A language and a system of units, with the plan and record that are being put into words.
#[derive(Clone, Copy, Debug)]
pub struct Voice<'a> {
    /// The language.
    pub words: &'a Words,
    /// The units.
    pub units: Printer<'a>,
    /// How dates and times are written.
    pub dates: Dates,
    /// The plan.
    pub plan: &'a Plan,
    /// Its record.
    pub record: &'a Record,
}

impl Voice<'_> {
    /// A word or caption.
    pub(super) fn word(&self, key: &str) -> Said {
        Ok(self.words.word(key)?.to_owned())
    }

    /// A sentence with its blanks filled in.
    pub(super) fn say(&self, key: &str, blanks: impl Into<minijinja::Value>) -> Said {
        Ok(self.words.say(key, blanks)?)
    }

    /// Several words of one group.
    pub(super) fn each(&self, group: &str, keys: &[&str]) -> Said<Vec<String>> {
        keys.iter().map(|key| self.word(&format!("{group}.{key}"))).collect()
    }

    /// How dates and times are written.
    pub(super) fn calendar(&self) -> Calendar<'_> {
        Calendar { words: self.words, dates: self.dates }
    }

    /// `Mon, Apr 13, 2026`
    pub(super) fn date(&self, date: Date) -> Said {
        self.calendar().date(date)
    }

    /// `6:05 PM` or `18:05`
    pub(super) fn clock(&self, moment: DateTime) -> Said {
        self.calendar().clock(moment)
    }

    /// `6:10 to 7:41 PM`
    pub(super) fn clock_range(&self, from: DateTime, to: DateTime) -> Said {
        self.calendar().clock_range(from, to)
    }

    /// `6:05 PM` on the day of the visit, `Tue, Apr 14, 2026, 12:20 AM` on any other.
    pub(super) fn moment(&self, moment: DateTime) -> Said {
        self.moment_of(moment, self.plan.start.date())
    }

    /// The same, for a document about another day.
    pub(super) fn moment_of(&self, moment: DateTime, day: Date) -> Said {
        let moment = whole_minute(moment);
        let clock = self.clock(moment)?;
        if moment.date() == day { Ok(clock) } else { Ok(format!("{}, {clock}", self.date(moment.date())?)) }
    }

    /// When people may come back, or that nobody knows.
    pub(super) fn reentry(&self, reentry: Reentry) -> Said {
        match reentry {
            Reentry::At(moment) => {
                let at = self.moment(moment)?;
                match Release::of(&self.plan.treatments) {
                    Release::Time => Ok(at),
                    Release::Dry => self.say("reentry_when_dry", context! { at }),
                    Release::Label => self.say("reentry_not_before", context! { at }),
                    Release::LabelAndDry => self.say("reentry_not_before_dry", context! { at }),
                }
            }
            Reentry::NotKnown => self.word("reentry_not_known"),
        }
    }

    /// `Mon, Apr 20, 2026, 6:05 PM`, cut down to the minute.
    pub(super) fn until(&self, moment: DateTime) -> Said {
        self.calendar().until(moment)
    }

    /// Product of a load, in the unit that its measure is marked in.
    pub(super) fn dose(&self, amount: &Amount) -> Said<Shown> {
        match amount {
            Amount::Liquid(volume) => Ok(self.units.measured_product(volume)),
            amount => self.amount(amount),
        }
    }

    /// Product, in the reader's system.
    pub(super) fn amount(&self, amount: &Amount) -> Said<Shown> {
        let main = match amount {
            Amount::Liquid(volume) => return Ok(self.units.product_volume(volume)),
            Amount::Powder(mass) => return Ok(self.units.mass(mass)),
            Amount::None => String::new(),
            Amount::Tablets(count) if *count == Number::one() => self.word("tablet")?,
            Amount::Tablets(count) => self.say("tablets", context! { count => self.units.count(count).main })?,
        };
        Ok(Shown { main, also: String::new() })
    }

    /// The readings that pass: `600 to 800 ppm`; `> 600 to 800 ppm` where the lower block itself does not pass, `600 to < 800 ppm`
    /// where the upper one does not; `600 ppm` where only one does.
    pub(super) fn band(&self, strip: &StripPlan) -> Said<Option<String>> {
        strip.band().map(|band| self.passing(&band)).transpose()
    }

    /// The band of a treatment, if it has a strip and the strip can show one.
    pub(super) fn band_of(&self, treatment: &TreatmentPlan) -> Said<Option<String>> {
        treatment.strip.as_ref().map_or(Ok(None), |strip| self.band(strip))
    }

    /// A band by its edges.
    pub(super) fn passing(&self, band: &Passing) -> Said {
        let (low, high) = (&band.low, &band.high);
        let key = match (band.low_passes, band.high_passes) {
            (true, true) => return self.between(low, high),
            (false, true) => "range_above",
            (true, false) => "range_below",
            (false, false) => "range_between",
        };
        self.say(key, context! { low => self.bare(low), high => self.units.strength(high).main })
    }

    /// What was read: a block, a space between two, or an instrument's figure with its error.
    pub(super) fn reading(&self, reading: &Reading) -> Said {
        match &reading.instrument {
            None => self.between(&reading.low, &reading.high),
            Some(error) => {
                let error = self.units.strength(error).main;
                self.say("with_error", context! { figure => self.bare(&reading.low), error })
            }
        }
    }

    /// `600 to 800 ppm`
    pub(super) fn between(&self, low: &Strength, high: &Strength) -> Said {
        if low == high {
            return Ok(self.units.strength(low).main);
        }
        self.say("range", context! { low => self.bare(low), high => self.units.strength(high).main })
    }

    /// A strength without its unit, as a strip's block is printed.
    pub(super) fn bare(&self, strength: &Strength) -> String {
        self.units.count(strength.as_milligrams_per_litre()).main
    }

    /// What the strength of a treatment counts.
    pub(super) fn measured(&self, treatment: &TreatmentPlan) -> Said {
        self.word(match treatment.strength.of {
            Measured::Actives => "measured.actives",
            Measured::AvailableChlorine => "measured.available-chlorine",
        })
    }

    /// The dilution and what it means: (`2 fl oz/gal`, `1 part product + 64 parts water`, the sentence).
    pub(super) fn dilution(&self, treatment: &TreatmentPlan) -> Said<(String, String, String)> {
        let dilution = self.units.dilution(&treatment.directions.dilution).main;
        let parts = treatment.ratio.parts_of_water().map(|water| {
            let parts = if treatment.basis() == Some(Basis::MadeUpTo) { water + Number::one() } else { water };
            self.units.count(&parts.round_to(&step_of(&parts))).main
        });
        let key = match (treatment.basis(), &parts) {
            (None, _) => "ready",
            (Some(Basis::AddedTo), Some(_)) => "added_parts",
            (Some(Basis::MadeUpTo), Some(_)) => "made_up_parts",
            (Some(Basis::AddedTo), None) => "added",
            (Some(Basis::MadeUpTo), None) => "made_up",
        };
        let blanks = context! { dilution => &dilution, parts };
        let short = self.say(&format!("short_meaning.{key}"), blanks.clone())?;
        let mut meaning = self.say(&format!("meaning.{key}"), blanks)?;
        if let Some(most) = &treatment.directions.dilution_most {
            meaning = self.say("meaning.most", context! { meaning, most => self.units.dilution(most).main })?;
        }
        Ok((dilution, short, meaning))
    }

    /// The printed code, as templates take it.
    pub(super) fn qr(&self) -> Said<Qr> {
        let svg = self.record.code().ok_or(DocumentError::Code)?.svg.clone();
        Ok(Qr { svg, alt: self.say("qr_alt", context! { link => &self.record.link })? })
    }

    /// How long, in words.
    pub(super) fn time(&self, time: &Time) -> String {
        self.units.time(time).main
    }

    /// Those who go, on one line.
    pub(super) fn crew(&self) -> String {
        self.plan.crew.iter().map(|member| member.name.as_str()).collect::<Vec<_>>().join(", ")
    }

    /// A caution's sentence.
    pub(super) fn caution(&self, caution: &Caution) -> Said {
        let said = |name: &str, fact: &Fact| match (name, fact) {
            ("rinse", Fact::Text(with)) => self.rinse_words(with),
            (_, Fact::List(others)) if caution.code == "never-with" => self.never_with(
                others.iter().filter_map(|other| if let Fact::Text(words) = other { Some(words) } else { None }),
            ),
            (_, fact) => self.fact(fact),
        };
        let facts = caution.facts.iter().map(|(name, fact)| Ok((*name, said(name, fact)?)));
        let facts: BTreeMap<&str, String> = facts.collect::<Said<_>>()?;
        self.say(&format!("cautions.{}", caution.code), Serde(&facts))
    }

    fn fact(&self, fact: &Fact) -> Said {
        let units = self.units;
        Ok(match fact {
            Fact::Text(text) => text.clone(),
            Fact::Word(key) => self.word(key)?,
            Fact::List(facts) => {
                let said = facts.iter().map(|fact| match fact {
                    // a list in a list is one thing in several words
                    Fact::List(parts) => Ok(parts.iter().map(|p| self.fact(p)).collect::<Said<Vec<_>>>()?.join(" ")),
                    fact => self.fact(fact),
                });
                said.collect::<Said<Vec<_>>>()?.join(", ")
            }
            Fact::Count(number) => units.count(number).main,
            Fact::Volume(volume) => units.solution(volume).main,
            Fact::Marks(amount) => self.dose(amount)?.main,
            Fact::Strength(strength) => units.strength(strength).main,
            Fact::Share(share) => units.percent(share).main,
            Fact::Time(time) => self.time(time),
            Fact::Moment(moment) => self.moment(*moment)?,
            Fact::Day(day) => self.date(*day)?,
            Fact::Coverage(film) => units.coverage(film).main,
            Fact::Solution(volume) => units.solution(volume).both(),
            Fact::Area(area) => units.area(area).main,
            Fact::Length(length) => units.length(length).main,
            Fact::Micrometres(length) => units.droplet(length).main,
            Fact::Temperature(temperature) => units.temperature(temperature).main,
        })
    }

    /// What a product must never meet, as its label words it; where the document is not in English, what the program knows of
    /// it by its name there. Neither forbids less than the label: everything takes the place of what it holds, and words that
    /// say more than the names stand before them.
    pub(super) fn never_with<'w>(&self, others: impl IntoIterator<Item = &'w String>) -> Said {
        let all = others.into_iter().map(|words| (words, never_words::named(words)));
        let all: Vec<(&String, never_words::Named)> = all.collect();
        let is_english = self.words.language == "en";
        let everything = !is_english && all.iter().any(|(_, known)| known.everything);
        let mut said = Vec::from_iter(everything.then(|| self.word("families.other")).transpose()?);
        for (words, known) in all {
            if is_english || !known.unknown.is_empty() {
                said.push(words.clone());
                continue;
            }
            if everything {
                continue;
            }
            let names = known.families.iter().map(|family| self.word(&format!("families.{}", family.name())));
            let names = names.collect::<Said<Vec<_>>>()?;
            if known.wider {
                said.push(format!("{words} ({})", names.join(", ")));
                continue;
            }
            for name in names {
                if !said.contains(&name) {
                    said.push(name);
                }
            }
        }
        Ok(said.join(", "))
    }

    /// How a strip is read.
    pub(super) fn strip_how(&self, strip: &StripPlan) -> Said {
        match (&strip.dip, &strip.wait) {
            (Some(dip), Some(wait)) => {
                self.say("sheet.strip_dip_wait", context! { dip => self.time(dip), wait => self.time(wait) })
            }
            (Some(dip), None) => self.say("sheet.strip_dip", context! { dip => self.time(dip) }),
            _ => self.word("sheet.strip_read"),
        }
    }

    /// What to rinse with.
    pub(super) fn rinse_with(&self, rinse: &Rinse) -> Said {
        self.rinse_words(rinse.with.as_deref().unwrap_or("potable water"))
    }

    /// The words of a label for what to rinse with; potable water has a word in each language.
    fn rinse_words(&self, with: &str) -> Said {
        if with.trim().eq_ignore_ascii_case("potable water") { self.word("potable_water") } else { Ok(with.to_owned()) }
    }

    /// The caption of registration numbers: the United States' agency has a name of its own on a label.
    pub(super) fn registration_caption(&self) -> Said {
        self.word(if self.plan.regime.is_of_the_united_states() { "registration.epa" } else { "registration.any" })
    }

    /// A registration number as it stands behind [`Voice::registration_caption`], as it is written in the company file.
    pub(super) fn registration_number(&self, written: &str) -> Said {
        registration_number(self.words, written, self.plan.regime.is_of_the_united_states())
    }

    /// `EPA Reg. No. 00000-75`
    pub(super) fn registered(&self, written: Option<&str>) -> Said<Option<String>> {
        let Some(written) = written else { return Ok(None) };
        Ok(Some(format!("{} {}", self.registration_caption()?, self.registration_number(written)?)))
    }
}

/// A registration number without its caption; without its agency as well where that is `EPA` and stands in the caption.
pub(super) fn registration_number(words: &Words, written: &str, epa: bool) -> Said {
    let own = ["registration.any", "registration.epa"];
    let own = own.map(|key| words.word(key).map(str::to_owned)).into_iter().collect::<Result<Vec<_>, _>>()?;
    let number = without_caption(written, &own);
    let bare = number.strip_prefix("U.S. EPA ").or_else(|| number.strip_prefix("EPA ")).filter(|_| epa);
    Ok(bare.map_or(number.clone(), str::to_owned))
}

/// Captions that a registration number is written with, in English; an abbreviation may end in a point or colon.
const CAPTIONS: [&str; 7] =
    ["reg no", "reg number", "reg nr", "registration no", "registration number", "reg", "registration"];

/// A registration number without its caption, which is one of ours or of the document's own language.
fn without_caption(written: &str, own: &[String]) -> String {
    let plain = |word: &str| word.trim_end_matches(['.', ':', '#']).to_lowercase();
    let words: Vec<&str> = written.split_whitespace().collect();
    // The agency stands first, if it stands there at all: `EPA`, `U.S. EPA`.
    let is_agency = |word: &&&str| word.chars().all(|c| c.is_ascii_uppercase() || c == '.') && plain(word) != "no";
    let (agency, rest) = words.split_at(words.iter().take_while(is_agency).count());
    let captions = CAPTIONS.iter().copied().chain(own.iter().map(String::as_str));
    let found = captions
        .map(|caption| caption.split_whitespace().map(plain).collect::<Vec<_>>())
        .find(|caption| rest.len() >= caption.len() && caption.iter().zip(rest).all(|(c, word)| *c == plain(word)));
    let number = found.map(|caption| &rest[caption.len()..]).filter(|number| !number.is_empty());
    number.map_or_else(|| written.to_owned(), |number| [agency, number].concat().join(" "))
}

/// Minutes, carried up to a whole one.
pub(super) fn whole_minutes(time: &Time) -> Number {
    time.as_minutes().ceil_to(&Number::one())
}

/// Parts are printed to a whole above ten and to a tenth below.
fn step_of(parts: &Number) -> Number {
    if *parts < Number::int(10) { Number::ratio(1, 10) } else { Number::one() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_registration_has_one_caption() {
        for (written, shown) in [
            ("00000-75", "00000-75"),
            ("EPA Reg. No. 00000-75", "EPA 00000-75"),
            ("EPA Reg No 00000-75", "EPA 00000-75"),
            ("Reg. No. 00000-75", "00000-75"),
            ("U.S. EPA Registration Number: 00000-75", "U.S. EPA 00000-75"),
            ("N.º de reg. 12", "12"),
            ("EPA 00000-75", "EPA 00000-75"),
            ("Reg. No.", "Reg. No."),
            ("PCP 12345", "PCP 12345"),
        ] {
            assert_eq!(without_caption(written, &["N.º de reg.".to_owned()]), shown, "{written}");
        }
    }
}
