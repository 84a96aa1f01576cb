//! A dilution in print: as the label states it, in one spelling.

use super::dilution::{Basis, Dilution};
use super::figure::rounded;
use super::kinds::Volume;
use super::notation::{IN_ALL, Notation, READY};
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
                let count = self.usual(count, tablets);
                Shown::alone(format!("{count}/{}", self.whole(per, label_system(per))))
            }
            Dilution::Liquid { product, per, .. } => {
                self.dose(per, |by, system| self.liquid(product.times(by).as_millilitres(), system))
            }
            Dilution::Powder { product, per, .. } => {
                self.dose(per, |by, system| self.powder(product.times(by).as_grams(), system))
            }
        }
    }

    /// As the label states it, then as much in a gallon or a litre of the other system. `product` prints so many times the
    /// dose.
    fn dose(self, per: &Volume, product: impl Fn(&Number, System) -> String) -> Shown {
        let system = label_system(per);
        let (other, one) = match system {
            System::Us => (System::Si, Volume::millilitres(Number::int(1000))),
            System::Si => (System::Us, Volume::millilitres(factor_of("gal"))),
        };
        Shown {
            main: format!("{}/{}", product(&Number::one(), system), self.whole(per, system)),
            also: format!("{}/{}", product(&one.over(per), other), self.whole(&one, other)),
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
        if figure == 1 { self.notation.name(unit).into_owned() } else { self.measured(&figure, unit) }
    }

    fn liquid(self, ml: &Number, system: System) -> String {
        if system == System::Si {
            return self.litres(ml, Notation::measured);
        }
        let (ounces, spoons) = (ml / &factor_of("fl oz"), ml / &factor_of("tsp"));
        // Spoons where the label has them and ounces would not come out even: 1 tsp is ⅙ fl oz.
        if rounded(&ounces, 3) != ounces && rounded(&spoons, 2) == spoons {
            self.notation.with_unit(self.notation.fixed(&spoons, 2), "tsp")
        } else {
            self.measured(&ounces, "fl oz")
        }
    }

    fn powder(self, grams: &Number, system: System) -> String {
        let ounces = grams / &factor_of("oz wt");
        match system {
            System::Si => self.grams_shown(grams),
            System::Us if ounces < 16 => self.measured(&ounces, "oz wt"),
            System::Us => self.measured(&(ounces / Number::int(16)), "lb"),
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
