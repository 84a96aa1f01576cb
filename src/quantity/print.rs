//! Quantities for readers: one system first, the other in brackets; rounded here and nowhere else.
//!
//! What a mixer measures (product, water, mass) is shown within 0.5 % of its value, or exactly where that is short. Nothing
//! above 0 is ever shown as 0.

use serde::Serialize;

use super::extent::Extent;
use super::figure::{places_for, rounded};
use super::kinds::{
    Area, Density, Film, Flow, Length, Mass, Pressure, Share, Speed, Strength, Temperature, Time, Volume,
};
use super::notation::Notation;
use super::number::Number;
use super::unit::{System, factor_of};

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct Shown {
    /// In the reader's system.
    pub main: String,
    /// In the other system; empty where there is nothing to add.
    pub also: String,
}

impl Shown {
    /// What needs no second system.
    pub(crate) fn alone(main: String) -> Self {
        Shown { main, also: String::new() }
    }

    /// `7.5 fl oz (222 mL)`
    pub fn both(&self) -> String {
        if self.also.is_empty() || self.also == self.main {
            self.main.clone()
        } else {
            format!("{} ({})", self.main, self.also)
        }
    }
}

/// Prints quantities for readers of one system and one language.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Printer<'n> {
    /// The system that stands first.
    pub system: System,
    pub(super) notation: &'n Notation,
}

impl Printer<'static> {
    /// A printer that puts this system first and writes as English does.
    pub const fn new(system: System) -> Self {
        Printer { system, notation: Notation::english() }
    }
}

impl Printer<'_> {
    /// The same in another notation.
    pub fn with(self, notation: &Notation) -> Printer<'_> {
        Printer { system: self.system, notation }
    }

    /// This system's text first, then the other's.
    pub(crate) fn order(self, us: String, si: String) -> Shown {
        let (main, also) = match self.system {
            System::Us => (us, si),
            System::Si => (si, us),
        };
        Shown { main, also }
    }

    /// A figure in one unit, written so: [`Notation::usual`] and its like.
    fn written(self, value: &Number, unit: &str, figure: fn(&Notation, &Number) -> String) -> String {
        self.notation.with_unit(figure(self.notation, value), unit)
    }

    pub(super) fn usual(self, value: &Number, unit: &str) -> String {
        self.written(value, unit, Notation::usual)
    }

    pub(super) fn measured(self, value: &Number, unit: &str) -> String {
        self.written(value, unit, Notation::measured)
    }

    /// Product, on the scale of a measuring cup: `7.5 fl oz (222 mL)`, `1 gal 12 fl oz (4.14 L)`. Below a tenth of a fluid
    /// ounce no cup is marked: then only millilitres are shown.
    pub fn product_volume(self, volume: &Volume) -> Shown {
        let ml = volume.as_millilitres();
        let si = self.litres(ml, Notation::measured);
        let ounces = ml / &factor_of("fl oz");
        if ounces.is_positive() && ounces < Number::ratio(1, 10) {
            return Shown::alone(si);
        }
        self.order(self.split(&ounces, 128, "gal", "fl oz", "fl oz"), si)
    }

    /// Product of a load, in the unit of the measure first: `12 mL (0.406 fl oz)`. A load's product is to the graduation, so that
    /// whole hundredths of a millilitre tell a measure in millilitres, whatever the reader's system, and whole eighths of an
    /// ounce one in fluid ounces.
    pub fn measured_product(self, volume: &Volume) -> Shown {
        self.marked(volume, 100, 8).product_volume(volume)
    }

    /// Water of a load, in the unit that the tank is marked in first: whole millilitres, or whole fluid ounces.
    pub fn measured_water(self, volume: &Volume) -> Shown {
        self.marked(volume, 1, 1).water(volume)
    }

    /// A printer for what is measured by marks: of so many parts of a millilitre, or of a fluid ounce.
    fn marked(self, volume: &Volume, of_millilitre: i64, of_ounce: i64) -> Self {
        let ml = volume.as_millilitres();
        let in_millilitres = (ml * Number::int(of_millilitre)).is_integer();
        let in_ounces = (ml / &factor_of("fl oz") * Number::int(of_ounce)).is_integer();
        let system = match (in_millilitres, in_ounces) {
            (true, false) => System::Si,
            (false, true) => System::Us,
            _ => self.system,
        };
        Printer { system, ..self }
    }

    /// Solution of several areas and of all together, in one unit, so that the figures add up as they are printed.
    pub fn solutions(self, parts: &[Volume]) -> (Vec<String>, String) {
        let all: Number = parts.iter().map(|part| part.as_millilitres().clone()).sum();
        let unit = match self.system {
            System::Us if all < factor_of("gal") => "fl oz",
            System::Us => "gal",
            System::Si if all < 1000 => "mL",
            System::Si => "L",
        };
        self.column(parts.iter().map(|part| part.as_millilitres() / &factor_of(unit)).collect(), unit)
    }

    /// Areas and their sum, likewise.
    pub fn areas(self, parts: &[Area]) -> (Vec<String>, String) {
        let unit = if self.system == System::Us { "ft²" } else { "m²" };
        self.column(parts.iter().map(|part| part.as_square_metres() / &factor_of(unit)).collect(), unit)
    }

    /// A figure of a unit, for a column in which all have that unit.
    pub(crate) fn in_unit(self, value: &Number, unit: &str, places: u32) -> String {
        self.notation.with_unit(self.notation.fixed(value, places), unit)
    }

    /// The same of a value in milliliters, grams or square meters.
    pub(crate) fn converted(self, value: &Number, unit: &str, places: u32) -> String {
        self.in_unit(&(value / &factor_of(unit)), unit, places)
    }

    /// Figures of one unit with as many decimals as the least of them needs for two figures, and their sum. Each is cut; what the
    /// sum then lacks goes to those that were cut most.
    fn column(self, values: Vec<Number>, unit: &str) -> (Vec<String>, String) {
        let least = values.iter().filter(|value| value.is_positive()).min().cloned().unwrap_or_else(Number::one);
        let places = if least >= 10 { 0 } else { 1 + u32::from(least < 1) + u32::from(least < Number::ratio(1, 10)) };
        let step = (0..places).fold(Number::one(), |step, _| step / Number::int(10));
        let all = values.iter().cloned().sum::<Number>().round_to(&step);
        let mut cut: Vec<Number> = values.iter().map(|value| value.floor_to(&step)).collect();
        let mut most_cut: Vec<usize> = (0..values.len()).collect();
        most_cut.sort_by_key(|i| &cut[*i] - &values[*i]);
        let lacking = ((&all - &cut.iter().cloned().sum::<Number>()) / &step).to_i64();
        for i in most_cut.into_iter().take(lacking.and_then(|lacking| usize::try_from(lacking).ok()).unwrap_or(0)) {
            cut[i] += &step;
        }
        let shown = |value: &Number| self.notation.with_unit(self.notation.fixed(value, places), unit);
        (cut.iter().map(shown).collect(), shown(&all))
    }

    /// Water, on the scale of a tank: `12 gal (45.4 L)`, `5 gal 2 qt`, `5.3 gal`; below a gallon `3 qt`, `20 fl oz`.
    pub fn water(self, volume: &Volume) -> Shown {
        let ml = volume.as_millilitres();
        let quarts = ml / &factor_of("qt");
        let us = if quarts.is_integer() && quarts.is_positive() {
            self.split(&quarts, 4, "gal", "qt", "qt")
        } else if quarts < 4 {
            self.measured(&(quarts * Number::int(32)), "fl oz")
        } else {
            // Three decimals, so that an eighth of a gallon is shown as it is.
            let gallons = quarts / Number::int(4);
            self.notation.with_unit(self.notation.fixed(&gallons, places_for(&gallons, &gallons, 3)), "gal")
        };
        self.order(us, self.litres(ml, Notation::measured))
    }

    /// Solution needed, to three figures: `28.5 gal (108 L)`.
    pub fn solution(self, volume: &Volume) -> Shown {
        let ml = volume.as_millilitres();
        let gallons = ml / &factor_of("gal");
        let us = if gallons < 1 {
            self.written(&(gallons * Number::int(128)), "fl oz", Notation::three)
        } else {
            self.written(&gallons, "gal", Notation::three)
        };
        self.order(us, self.litres(ml, Notation::three))
    }

    /// A mass: `10 g (0.353 oz wt)`, `2 lb 3 oz (992 g)`. Below a twentieth of an ounce only grams are shown.
    pub fn mass(self, mass: &Mass) -> Shown {
        let grams = mass.as_grams();
        let si = self.grams_shown(grams);
        let ounces = grams / &factor_of("oz wt");
        if ounces.is_positive() && ounces < Number::ratio(1, 20) {
            return Shown::alone(si);
        }
        // A lone `oz` could be taken for a fluid ounce; after pounds it cannot.
        self.order(self.split(&ounces, 16, "lb", "oz", "oz wt"), si)
    }

    /// An area: `2,640 ft² (245 m²)`. Whole numbers from 100 on.
    pub fn area(self, area: &Area) -> Shown {
        let m2 = area.as_square_metres();
        let shown = |value: &Number, unit| match *value >= 100 {
            true => self.notation.with_unit(self.notation.fixed(value, 0), unit),
            false => self.usual(value, unit),
        };
        self.order(shown(&(m2 / &factor_of("ft²")), "ft²"), shown(m2, "m²"))
    }

    /// A length: `5 ft 6 in (1.68 m)`, `4 in (102 mm)`.
    pub fn length(self, length: &Length) -> Shown {
        let m = length.as_metres();
        let si = if *m < 1 { self.to_a_tenth(&(m * &Number::int(1000)), "mm") } else { self.usual(m, "m") };
        self.order(self.split(&(m / &factor_of("in")), 12, "ft", "in", "in"), si)
    }

    /// Short figures as they are, others to three figures.
    fn to_a_tenth(self, value: &Number, unit: &str) -> String {
        self.notation.with_unit(self.notation.exact_or_significant(value, 1, 3), unit)
    }

    /// The extent of a surface: `12 ft × 8 ft (3.66 m × 2.44 m)`, or its area.
    pub fn extent(self, extent: &Extent) -> Shown {
        match extent {
            Extent::Rectangle { length, width } => {
                let (length, width) = (self.length(length), self.length(width));
                let by = |length, width| format!("{length} × {width}");
                Shown { main: by(length.main, width.main), also: by(length.also, width.also) }
            }
            Extent::Plain { area } => self.area(area),
        }
    }

    /// A droplet's diameter, in micrometres for every reader: `20 µm`.
    pub fn droplet(self, diameter: &Length) -> Shown {
        Shown::alone(self.to_a_tenth(&(diameter.as_metres() * &Number::int(1_000_000)), "µm"))
    }

    /// A flow: `7.5 fl oz/min (222 mL/min)`, `2.5 gal/min (9.46 L/min)`.
    pub fn flow(self, flow: &Flow) -> Shown {
        let ml = flow.as_millilitres_per_minute();
        let ounces = ml / &factor_of("fl oz");
        let us = if ounces < 128 {
            self.usual(&ounces, "fl oz/min")
        } else {
            self.usual(&(ounces / Number::int(128)), "gal/min")
        };
        self.order(us, format!("{}/{}", self.litres(ml, Notation::usual), self.notation.name("min")))
    }

    /// A speed: `88 ft/min (0.447 m/s)`; from 10 mph in miles an hour.
    pub fn speed(self, speed: &Speed) -> Shown {
        let metres = speed.as_metres_per_second();
        let feet = metres / &factor_of("ft/min");
        let us = if feet < 880 { self.usual(&feet, "ft/min") } else { self.usual(&(feet / Number::int(88)), "mph") };
        self.order(us, self.usual(metres, "m/s"))
    }

    /// A pressure: `40 psi (276 kPa)`.
    pub fn pressure(self, pressure: &Pressure) -> Shown {
        let kpa = pressure.as_kilopascals();
        self.order(self.usual(&(kpa / &factor_of("psi")), "psi"), self.usual(kpa, "kPa"))
    }

    /// A time, the same for every reader: `45 s`, `10 min`, `1 h 32 min`, `36 h`, `7 days`. From an hour on to the nearest minute,
    /// from two days on to the nearest hour.
    pub fn time(self, time: &Time) -> Shown {
        Shown::alone(self.time_shown(time.as_seconds()))
    }

    /// A temperature: `72 °F (22 °C)`.
    pub fn temperature(self, temperature: &Temperature) -> Shown {
        let celsius = temperature.as_celsius();
        let fahrenheit = celsius / &factor_of("°F") + Number::int(32);
        let degrees = |value: &Number, unit| {
            self.notation.with_unit(self.notation.fixed(value, u32::from(rounded(value, 1) == *value)), unit)
        };
        self.order(degrees(&fahrenheit, "°F"), degrees(celsius, "°C"))
    }

    /// A strength, the same for every reader: `1,050 ppm`.
    pub fn strength(self, strength: &Strength) -> Shown {
        Shown::alone(self.usual(strength.as_milligrams_per_litre(), "ppm"))
    }

    /// A share: `0.5 %`.
    pub fn percent(self, share: &Share) -> Shown {
        Shown::alone(self.usual(&share.as_percent(), "%"))
    }

    /// A density: `8.26 lb/gal (0.99 kg/L)`.
    pub fn density(self, density: &Density) -> Shown {
        let kilograms = density.as_kilograms_per_litre();
        // g/mL, which is kg/L, to lb/gal.
        let pounds = kilograms * &(factor_of("gal") / factor_of("lb"));
        self.order(self.usual(&pounds, "lb/gal"), self.usual(kilograms, "kg/L"))
    }

    /// Solution on a surface: `15.7 fl oz/100 ft² (50 mL/m²)`.
    pub fn film(self, film: &Film) -> Shown {
        let ml = film.as_millilitres_per_square_metre();
        let ounces = ml * &(factor_of("ft²") * Number::int(100) / factor_of("fl oz"));
        self.order(self.usual(&ounces, "fl oz/100 ft²"), self.usual(ml, "mL/m²"))
    }

    /// The same as the surface a volume covers: `200 ft²/gal (4.91 m²/L)`. No solution at all covers nothing that could be
    /// stated; it is shown as [`Printer::film`] shows it.
    pub fn coverage(self, film: &Film) -> Shown {
        let Some(per_ml) = film.as_millilitres_per_square_metre().recip() else {
            return self.film(film);
        };
        let us = &per_ml * &(factor_of("gal") / factor_of("ft²"));
        self.order(self.usual(&us, "ft²/gal"), self.usual(&(per_ml * Number::int(1000)), "m²/L"))
    }

    /// A plain number: `1,250`, `2.5`.
    pub fn count(self, number: &Number) -> Shown {
        Shown::alone(if number.is_integer() { self.notation.fixed(number, 0) } else { self.notation.usual(number) })
    }

    /// Millilitres, or litres from one litre on.
    pub(super) fn litres(self, ml: &Number, figure: fn(&Notation, &Number) -> String) -> String {
        if *ml < 1000 { self.written(ml, "mL", figure) } else { self.written(&(ml / &Number::int(1000)), "L", figure) }
    }

    pub(super) fn grams_shown(self, grams: &Number) -> String {
        let thousand = Number::int(1000);
        if grams.is_positive() && *grams < Number::ratio(1, 10) {
            self.measured(&(grams * &thousand), "mg")
        } else if *grams < 1000 {
            self.measured(grams, "g")
        } else {
            self.measured(&(grams / &thousand), "kg")
        }
    }

    /// A number of small units as large ones and a rest: `2 gal 1 qt`. `alone` is the small unit's name where no large one
    /// stands before it. The whole is rounded before it is cut, so that 11.999 in is 1 ft and never `12 in`.
    fn split(self, small: &Number, times: i64, large_name: &str, small_name: &str, alone: &str) -> String {
        let notation = self.notation;
        let times = Number::int(times);
        let places = places_for(small, small, 3);
        let shown = rounded(small, places);
        let large = (&shown / &times).floor_to(&Number::one());
        let rest = &shown - &(&large * &times);
        if !large.is_positive() {
            return notation.with_unit(notation.fixed(&shown, places), alone);
        }
        let large = notation.with_unit(notation.fixed(&large, 0), large_name);
        if rest.is_zero() {
            return large;
        }
        let rest = notation.with_unit(notation.fixed(&rest, places), small_name);
        // `3 gal 2 qt US`: what both units end in is said once
        let end = rest.rfind(' ').map_or("", |at| &rest[at..]);
        format!("{} {rest}", large.strip_suffix(end).unwrap_or(&large))
    }

    fn time_shown(self, seconds: &Number) -> String {
        const MINUTE: i64 = 60;
        const HOUR: i64 = 3600;
        const DAY: i64 = 86_400;
        let to = |step: i64| seconds.round_to(&Number::int(step));
        let whole_seconds = seconds.is_integer();
        // Each step hands on what it would round up to a whole of the next: 59.9 min is 1 h.
        let to_the_second = to(1);
        if to_the_second < MINUTE {
            let figure =
                if whole_seconds { self.notation.fixed(seconds, 0) } else { self.notation.significant(seconds, 2) };
            return self.notation.with_unit(figure, "s");
        }
        if to_the_second < 10 * MINUTE || (whole_seconds && to_the_second < HOUR) {
            return self.two_units(&to_the_second, MINUTE, ["min", "min"], 1, "s");
        }
        let to_the_minute = to(MINUTE);
        if to_the_minute < 2 * DAY {
            return self.two_units(&to_the_minute, HOUR, ["h", "h"], MINUTE, "min");
        }
        self.two_units(&to(HOUR), DAY, ["day", "days"], HOUR, "h")
    }

    fn two_units(self, seconds: &Number, large: i64, [one, many]: [&str; 2], small: i64, small_name: &str) -> String {
        let larges = (seconds / &Number::int(large)).floor_to(&Number::one());
        let smalls = (seconds - &(&larges * &Number::int(large))) / Number::int(small);
        let name = if larges == 1 { one } else { many };
        let whole = |value: &Number, unit| self.notation.with_unit(self.notation.fixed(value, 0), unit);
        match (larges.is_zero(), smalls.is_zero()) {
            (true, _) => whole(&smalls, small_name),
            (false, true) => whole(&larges, name),
            (false, false) => format!("{} {}", whole(&larges, name), whole(&smalls, small_name)),
        }
    }
}
