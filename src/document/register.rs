//! The register: product used and strip readings, as tables.

use std::collections::BTreeMap;

use jiff::civil::DateTime;
use minijinja::context;
use serde::Serialize;

use super::Said;
use super::calendar::Calendar;
use super::rules::Mark;
use super::used::mark_of;
use super::voice::registration_number;
use crate::quantity::{Number, Printer, System};
use crate::register::{Key, Reading, Recorded, Sum};
use crate::wording::Words;

/// The look is not the company's: records of several may stand in one register.
#[derive(Serialize)]
pub struct Register {
    lang: String,
    title: String,
    author: String,
    accent: Option<String>,
    logo: Option<String>,
    lines: [String; 0],
    draft: bool,
    page: String,
    company: String,
    /// From the first month to the last.
    period: String,
    /// How many visits are counted, and how many are not.
    visits: String,
    words: BTreeMap<String, String>,
    deference: String,
    /// Site, month, product, registration, amount, solution, area, and what they rest on.
    uses: Vec<[String; 8]>,
    readings: Vec<ReadingRow>,
}

#[derive(Serialize)]
struct ReadingRow {
    /// When, where, product, load, band, what was read, and how it compares.
    cells: [String; 7],
    mark: Mark,
}

/// What the register's template is given; the company, the paper, the units and the form of dates are those of the first record.
pub fn register(
    words: &Words,
    first: &Recorded,
    uses: &BTreeMap<Key, Sum>,
    read: &[&Reading],
    visits: [usize; 3],
) -> Said<Register> {
    let units = Printer::new(first.units).with(words.notation());
    let pen = Pen { words, units, calendar: Calendar { words, dates: first.dates }, epa: first.united_states };
    let mut captions = words.group("register.words");
    let caption = if first.united_states { "registration.epa" } else { "registration.any" };
    captions.insert("registration".to_owned(), words.word(caption)?.to_owned());
    let months: Vec<&str> = uses.keys().map(|key| key.month.as_str()).collect();
    let period = match (months.iter().min(), months.iter().max()) {
        (Some(low), Some(high)) if low < high => {
            words.say("range", context! { low => pen.month(low)?, high => pen.month(high)? })?
        }
        (Some(month), _) => pen.month(month)?,
        _ => String::new(),
    };
    let [made, not_made, open] = visits;
    Ok(Register {
        visits: words.say("register.visits", context! { made, not_made, open })?,
        lang: words.language.clone(),
        title: words.word("register.heading")?.to_owned(),
        author: first.company.clone(),
        accent: None,
        logo: None,
        lines: [],
        draft: false,
        page: first.page.clone(),
        company: first.company.clone(),
        period,
        words: captions,
        deference: words.word("deference")?.to_owned(),
        uses: uses.iter().map(|(key, sum)| pen.use_row(key, sum)).collect::<Said<_>>()?,
        readings: read.iter().map(|reading| pen.reading_row(reading)).collect::<Said<_>>()?,
    })
}

/// What the rows are written with.
#[derive(Clone, Copy)]
struct Pen<'a> {
    words: &'a Words,
    units: Printer<'a>,
    calendar: Calendar<'a>,
    epa: bool,
}

impl Pen<'_> {
    /// `Apr 2026` of `2026-04`; what is no month stays as it is.
    fn month(self, month: &str) -> Said {
        format!("{month}-01").parse().map_or_else(|_| Ok(month.to_owned()), |day| self.calendar.month_of(day))
    }

    /// One unit a column, so that its figures can be compared: of liquids, powders, solution and areas.
    fn in_column(self, value: &Number, us: &str, si: &str, places: u32) -> String {
        self.units.converted(value, if self.units.system == System::Us { us } else { si }, places)
    }

    fn use_row(self, key: &Key, sum: &Sum) -> Said<[String; 8]> {
        let amount = match key.unit.as_str() {
            "mL" => self.in_column(&sum.product, "fl oz", "mL", 1),
            "g" => self.in_column(&sum.product, "oz wt", "g", 1),
            _ => self.units.in_unit(&sum.product, if sum.product == Number::one() { "tablet" } else { "tablets" }, 0),
        };
        Ok([
            key.site.clone(),
            self.month(&key.month)?,
            key.product.clone(),
            registration_number(self.words, &key.registration, self.epa)?,
            amount,
            self.in_column(&sum.solution, "gal", "L", 1),
            self.in_column(&sum.area, "ft²", "m²", 0),
            self.words.word(&format!("register.{}", key.basis.word()))?.to_owned(),
        ])
    }

    fn reading_row(self, r: &Reading) -> Said<ReadingRow> {
        let shown = |value: &Number| self.units.in_unit(value, "ppm", 0);
        let bare = |value: &Number| self.units.count(&value.round_to(&Number::one())).main;
        let between = |low: String, high: String| if low == high { low } else { format!("{low}–{high}") };
        let band = r.band.as_ref().map(|band| {
            let above = if band.low_passes { "" } else { "> " };
            let below = if band.high_passes { "" } else { "< " };
            between(format!("{above}{}", bare(&band.low)), format!("{below}{}", bare(&band.high)))
        });
        let read = between(bare(&r.low), bare(&r.high));
        let result = r.result();
        let mixed = match r.mixed.parse::<DateTime>() {
            Ok(moment) => format!("{}, {}", self.calendar.date(moment.date())?, self.calendar.clock(moment)?),
            Err(_) => r.mixed.replace('T', " "),
        };
        let cells = [
            mixed,
            r.site.clone(),
            r.product.clone(),
            format!("{}: {}.{}", r.job, r.treatment, r.load),
            band.unwrap_or_default(),
            r.error.as_ref().map_or(read.clone(), |error| format!("{read} ± {}", shown(error))),
            self.words.word(&format!("certificate.{result}"))?.to_owned(),
        ];
        Ok(ReadingRow { cells, mark: mark_of(r.compared) })
    }
}
