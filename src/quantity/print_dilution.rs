//! A dilution in print: as the label states it, in one spelling.

use super::dilution::{Basis, Dilution};
use super::figure::{fixed, rounded};
use super::kinds::{Mass, Volume};
use super::number::Number;
use super::print::{Printer, Shown, grams_shown, measured, usual, with_unit};
use super::unit::{System, factor_of};

impl Printer {
    /// A dilution as its label states it: `2 fl oz/gal (15.6 mL/L)`, `1:64`, `1 in 64`, `0.5 %`, `400 ppm`, `2 tablets/10 L`,
    /// `ready to use`. The system the label uses stands first, whoever reads; the other follows in brackets where it helps.
    ///
    /// Whether the product is added to the amount or made up to it is not in the text: a sheet says that in words.
    pub fn dilution(self, dilution: &Dilution) -> Shown {
        match dilution {
            Dilution::ReadyToUse => Shown::alone("ready to use".into()),
            Dilution::Percent { share } => self.percent(share),
            Dilution::Target { strength } => self.strength(strength),
            Dilution::Parts { product, per, basis } => {
                let (product, per) = (usual(product), usual(per));
                Shown::alone(match basis {
                    Basis::AddedTo => format!("{product}:{per}"),
                    Basis::MadeUpTo => format!("{product} in {per}"),
                })
            }
            Dilution::Tablets { count, per, .. } => {
                let tablets = if *count == 1 { "tablet" } else { "tablets" };
                Shown::alone(format!("{} {tablets}/{}", usual(count), whole(per, label_system(per))))
            }
            Dilution::Liquid { product, per, .. } => {
                let system = label_system(per);
                let stated = format!("{}/{}", liquid(product, system), whole(per, system));
                let other = other(system);
                let as_much = product.times(&one_of_it(other).over(per));
                Shown {
                    main: stated,
                    also: format!("{}/{}", liquid(&as_much, other), whole(&one_of_it(other), other)),
                }
            }
            Dilution::Powder { product, per, .. } => {
                let system = label_system(per);
                let stated = format!("{}/{}", powder(product, system), whole(per, system));
                let other = other(system);
                let as_much = product.times(&one_of_it(other).over(per));
                Shown {
                    main: stated,
                    also: format!("{}/{}", powder(&as_much, other), whole(&one_of_it(other), other)),
                }
            }
        }
    }
}

/// The system whose units state the whole in the shorter figure: gallons or litres.
fn label_system(per: &Volume) -> System {
    let ml = per.as_millilitres();
    let short = |unit| {
        let figure = ml / &factor_of(unit);
        rounded(&figure, 3) == figure
    };
    if short("L") || !short("fl oz") {
        System::Si
    } else {
        System::Us
    }
}

fn other(system: System) -> System {
    match system {
        System::Us => System::Si,
        System::Si => System::Us,
    }
}

/// A gallon or a litre.
fn one_of_it(system: System) -> Volume {
    Volume::millilitres(match system {
        System::Us => factor_of("gal"),
        System::Si => Number::int(1000),
    })
}

/// What stands after the stroke: `gal`, `10 L`, `32 fl oz`.
fn whole(per: &Volume, system: System) -> String {
    let ml = per.as_millilitres();
    let units: &[&str] = match system {
        System::Us => &["gal", "qt", "fl oz"],
        System::Si => &["L", "mL"],
    };
    let figures = units.iter().map(|unit| (ml / &factor_of(unit), unit));
    let (figure, unit) = figures
        .clone()
        .find(|(figure, _)| *figure >= 1 && rounded(figure, 2) == *figure)
        .or_else(|| figures.into_iter().find(|(figure, _)| *figure >= 1))
        .unwrap_or_else(|| (ml.clone(), &"mL"));
    if figure == 1 {
        (*unit).to_string()
    } else {
        with_unit(measured(&figure), unit)
    }
}

fn liquid(product: &Volume, system: System) -> String {
    let ml = product.as_millilitres();
    match system {
        System::Si if *ml < 1000 => with_unit(measured(ml), "mL"),
        System::Si => with_unit(measured(&(ml / &Number::int(1000))), "L"),
        System::Us => {
            let of = |unit| ml / &factor_of(unit);
            // Spoons where the label has them and ounces would not come out even: 1 tsp is ⅙ fl oz.
            let spoons = of("tsp");
            if rounded(&of("fl oz"), 3) != of("fl oz") && rounded(&spoons, 2) == spoons {
                with_unit(fixed(&spoons, 2), "tsp")
            } else {
                with_unit(measured(&of("fl oz")), "fl oz")
            }
        }
    }
}

fn powder(product: &Mass, system: System) -> String {
    let grams = product.as_grams();
    match system {
        System::Si => grams_shown(grams),
        System::Us => {
            let ounces = grams / &factor_of("oz wt");
            if ounces < 16 {
                with_unit(measured(&ounces), "oz wt")
            } else {
                with_unit(measured(&(ounces / Number::int(16))), "lb")
            }
        }
    }
}
