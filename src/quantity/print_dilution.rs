//! A dilution in print: as the label states it, in one spelling.

use super::dilution::{Basis, Dilution};
use super::figure::rounded;
use super::kinds::{Mass, Volume};
use super::notation::{IN_ALL, READY};
use super::number::Number;
use super::print::{Printer, Shown};
use super::unit::{System, factor_of};

impl Printer<'_> {
    /// A dilution as its label states it: `2 fl oz/gal (15.6 mL/L)`, `1:64`, `1 in 64`, `0.5 %`, `400 ppm`, `2 tablets/10 L`,
    /// `ready to use`. The system the label uses stands first, whoever reads; the other follows in brackets where it helps.
    ///
    /// Whether the product is added to the amount or made up to it is not in the text: a sheet says that in words.
    pub fn dilution(self, dilution: &Dilution) -> Shown {
        match dilution {
            Dilution::ReadyToUse => Shown::alone(self.notation.name(READY).into_owned()),
            Dilution::Percent { share } => self.percent(share),
            Dilution::Target { strength } => self.strength(strength),
            Dilution::Parts { product, per, basis } => {
                let (product, per) = (self.notation.usual(product), self.notation.usual(per));
                Shown::alone(match basis {
                    Basis::AddedTo => format!("{product}:{per}"),
                    Basis::MadeUpTo => {
                        let sentence = self.notation.name(IN_ALL);
                        sentence.replace("{product}", &product).replace("{per}", &per)
                    }
                })
            }
            Dilution::Tablets { count, per, .. } => {
                let tablets = if *count == 1 { "tablet" } else { "tablets" };
                let count = self.notation.with_unit(self.notation.usual(count), tablets);
                Shown::alone(format!("{count}/{}", self.whole(per, label_system(per))))
            }
            Dilution::Liquid { product, per, .. } => {
                let system = label_system(per);
                let stated = format!("{}/{}", self.liquid(product, system), self.whole(per, system));
                let other = other(system);
                let as_much = product.times(&one_of_it(other).over(per));
                Shown {
                    main: stated,
                    also: format!("{}/{}", self.liquid(&as_much, other), self.whole(&one_of_it(other), other)),
                }
            }
            Dilution::Powder { product, per, .. } => {
                let system = label_system(per);
                let stated = format!("{}/{}", self.powder(product, system), self.whole(per, system));
                let other = other(system);
                let as_much = product.times(&one_of_it(other).over(per));
                Shown {
                    main: stated,
                    also: format!("{}/{}", self.powder(&as_much, other), self.whole(&one_of_it(other), other)),
                }
            }
        }
    }

    /// What stands after the stroke: `gal`, `10 L`, `32 fl oz`.
    fn whole(self, per: &Volume, system: System) -> String {
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
            self.notation.name(unit).into_owned()
        } else {
            self.notation.with_unit(self.notation.measured(&figure), unit)
        }
    }

    fn liquid(self, product: &Volume, system: System) -> String {
        let ml = product.as_millilitres();
        match system {
            System::Si if *ml < 1000 => self.notation.with_unit(self.notation.measured(ml), "mL"),
            System::Si => self.notation.with_unit(self.notation.measured(&(ml / &Number::int(1000))), "L"),
            System::Us => {
                let of = |unit| ml / &factor_of(unit);
                // Spoons where the label has them and ounces would not come out even: 1 tsp is ⅙ fl oz.
                let spoons = of("tsp");
                if rounded(&of("fl oz"), 3) != of("fl oz") && rounded(&spoons, 2) == spoons {
                    self.notation.with_unit(self.notation.fixed(&spoons, 2), "tsp")
                } else {
                    self.notation.with_unit(self.notation.measured(&of("fl oz")), "fl oz")
                }
            }
        }
    }

    fn powder(self, product: &Mass, system: System) -> String {
        let grams = product.as_grams();
        match system {
            System::Si => self.grams_shown(grams),
            System::Us => {
                let ounces = grams / &factor_of("oz wt");
                if ounces < 16 {
                    self.notation.with_unit(self.notation.measured(&ounces), "oz wt")
                } else {
                    self.notation.with_unit(self.notation.measured(&(ounces / Number::int(16))), "lb")
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
    if short("L") || !short("fl oz") { System::Si } else { System::Us }
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
