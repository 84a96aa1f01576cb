//! What each hazard puts on a label: statement, signal word, pictogram. By class and category, because the statement alone does not
//! decide them (H272 is Danger for Category 2 and Warning for Category 3).
//!
//! Sources: 29 CFR 1910.1200 Appendix C.4 and Regulation (EC) 1272/2008 Annex I, label element tables of each class.

use std::fmt;

use serde::Serialize;

use super::class::Category::{Four, One, Three, Two, TwoA, TwoB};
use super::class::Category::{TypeA, TypeB, TypeE, TypeF, TypeG};
use super::class::{Class, Hazard};

/// The signal word. The worse one is greater.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Signal {
    /// The lesser.
    Warning,
    /// The greater.
    Danger,
}

/// The symbols, in the order a label shows them: physical, health, environment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pictogram {
    /// GHS01.
    ExplodingBomb,
    /// GHS02.
    Flame,
    /// GHS03.
    FlameOverCircle,
    /// GHS04.
    GasCylinder,
    /// GHS05.
    Corrosion,
    /// GHS06.
    SkullAndCrossbones,
    /// GHS08.
    HealthHazard,
    /// GHS07.
    ExclamationMark,
    /// GHS09.
    Environment,
}

impl Pictogram {
    /// All nine, in label order.
    pub const ALL: [Pictogram; 9] = [
        Pictogram::ExplodingBomb,
        Pictogram::Flame,
        Pictogram::FlameOverCircle,
        Pictogram::GasCylinder,
        Pictogram::Corrosion,
        Pictogram::SkullAndCrossbones,
        Pictogram::HealthHazard,
        Pictogram::ExclamationMark,
        Pictogram::Environment,
    ];

    /// Its code, such as `GHS05`.
    pub fn code(self) -> &'static str {
        match self {
            Pictogram::ExplodingBomb => "GHS01",
            Pictogram::Flame => "GHS02",
            Pictogram::FlameOverCircle => "GHS03",
            Pictogram::GasCylinder => "GHS04",
            Pictogram::Corrosion => "GHS05",
            Pictogram::SkullAndCrossbones => "GHS06",
            Pictogram::ExclamationMark => "GHS07",
            Pictogram::HealthHazard => "GHS08",
            Pictogram::Environment => "GHS09",
        }
    }

    /// Its plain English name, for a reader who cannot see it.
    pub fn name(self) -> &'static str {
        match self {
            Pictogram::ExplodingBomb => "exploding bomb",
            Pictogram::Flame => "flame",
            Pictogram::FlameOverCircle => "flame over circle",
            Pictogram::GasCylinder => "gas cylinder",
            Pictogram::Corrosion => "corrosion",
            Pictogram::SkullAndCrossbones => "skull and crossbones",
            Pictogram::ExclamationMark => "exclamation mark",
            Pictogram::HealthHazard => "health hazard",
            Pictogram::Environment => "environment",
        }
    }
}

impl fmt::Display for Pictogram {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl Hazard {
    /// The hazard statement's code; `None` for a type G organic peroxide, which has none.
    pub fn statement(self) -> Option<&'static str> {
        let category = self.category();
        let acute = |fatal, toxic, harmful| match category {
            One | Two => fatal,
            Three => toxic,
            _ => harmful,
        };
        Some(match self.class() {
            Class::FlammableLiquid => match category {
                One => "H224",
                Two => "H225",
                Three => "H226",
                _ => "H227",
            },
            Class::FlammableSolid => "H228",
            Class::OxidisingLiquid | Class::OxidisingSolid => match category {
                One => "H271",
                _ => "H272",
            },
            Class::OrganicPeroxide => match category {
                TypeA => "H240",
                TypeB => "H241",
                TypeG => return None,
                _ => "H242",
            },
            Class::GasUnderPressure => "H280",
            Class::MetalCorrosion => "H290",
            Class::AcuteOral => acute("H300", "H301", "H302"),
            Class::AcuteDermal => acute("H310", "H311", "H312"),
            Class::AcuteInhalation | Class::AcuteGas | Class::AcuteVapour | Class::AcuteMist => {
                acute("H330", "H331", "H332")
            }
            Class::Skin if category == Two => "H315",
            Class::Skin => "H314",
            Class::Eye => match category {
                One => "H318",
                TwoB => "H320",
                _ => "H319",
            },
            Class::RespiratorySensitiser => "H334",
            Class::SkinSensitiser => "H317",
            Class::Mutagen if category == Two => "H341",
            Class::Mutagen => "H340",
            Class::Carcinogen if category == Two => "H351",
            Class::Carcinogen => "H350",
            Class::Reproductive if category == Two => "H361",
            Class::Reproductive => "H360",
            Class::Lactation => "H362",
            Class::StotSingle if category == One => "H370",
            Class::StotSingle => "H371",
            Class::StotRespiratory => "H335",
            Class::StotNarcotic => "H336",
            Class::StotRepeated if category == One => "H372",
            Class::StotRepeated => "H373",
            Class::Aspiration => "H304",
            Class::AquaticAcute => match category {
                One => "H400",
                Two => "H401",
                _ => "H402",
            },
            Class::AquaticChronic => match category {
                One => "H410",
                Two => "H411",
                Three => "H412",
                _ => "H413",
            },
        })
    }

    /// The signal word; `None` where the system gives none.
    pub fn signal(self) -> Option<Signal> {
        use Signal::{Danger, Warning};
        let category = self.category();
        match self.class() {
            Class::FlammableLiquid | Class::OxidisingLiquid | Class::OxidisingSolid => match category {
                One => Some(Danger),
                Two => Some(Danger),
                _ => Some(Warning),
            },
            Class::OrganicPeroxide => match category {
                TypeG => None,
                TypeE | TypeF => Some(Warning),
                _ => Some(Danger),
            },
            Class::GasUnderPressure | Class::MetalCorrosion => Some(Warning),
            Class::AcuteOral
            | Class::AcuteDermal
            | Class::AcuteInhalation
            | Class::AcuteGas
            | Class::AcuteVapour
            | Class::AcuteMist => Some(if category == Four { Warning } else { Danger }),
            Class::RespiratorySensitiser | Class::Aspiration => Some(Danger),
            Class::SkinSensitiser | Class::StotRespiratory | Class::StotNarcotic => Some(Warning),
            Class::Lactation => None,
            Class::AquaticAcute | Class::AquaticChronic => (category == One).then_some(Warning),
            Class::FlammableSolid
            | Class::Skin
            | Class::Eye
            | Class::Mutagen
            | Class::Carcinogen
            | Class::Reproductive
            | Class::StotSingle
            | Class::StotRepeated => {
                Some(if self.rank() < Hazard::of(Class::Skin, Two).rank() { Danger } else { Warning })
            }
        }
    }

    /// The pictograms, before the rules of precedence.
    pub fn pictograms(self) -> &'static [Pictogram] {
        let category = self.category();
        match self.class() {
            Class::FlammableLiquid if category == Four => &[],
            Class::FlammableLiquid | Class::FlammableSolid => &[Pictogram::Flame],
            Class::OxidisingLiquid | Class::OxidisingSolid => &[Pictogram::FlameOverCircle],
            Class::OrganicPeroxide => match category {
                TypeA => &[Pictogram::ExplodingBomb],
                TypeB => &[Pictogram::ExplodingBomb, Pictogram::Flame],
                TypeG => &[],
                _ => &[Pictogram::Flame],
            },
            Class::GasUnderPressure => &[Pictogram::GasCylinder],
            Class::MetalCorrosion => &[Pictogram::Corrosion],
            Class::AcuteOral
            | Class::AcuteDermal
            | Class::AcuteInhalation
            | Class::AcuteGas
            | Class::AcuteVapour
            | Class::AcuteMist => {
                if category == Four {
                    &[Pictogram::ExclamationMark]
                } else {
                    &[Pictogram::SkullAndCrossbones]
                }
            }
            Class::Skin if category == Two => &[Pictogram::ExclamationMark],
            Class::Skin => &[Pictogram::Corrosion],
            Class::Eye => match category {
                One => &[Pictogram::Corrosion],
                Two | TwoA => &[Pictogram::ExclamationMark],
                _ => &[],
            },
            Class::SkinSensitiser | Class::StotRespiratory | Class::StotNarcotic => &[Pictogram::ExclamationMark],
            Class::RespiratorySensitiser
            | Class::Mutagen
            | Class::Carcinogen
            | Class::Reproductive
            | Class::StotSingle
            | Class::StotRepeated
            | Class::Aspiration => &[Pictogram::HealthHazard],
            Class::Lactation => &[],
            Class::AquaticAcute if category == One => &[Pictogram::Environment],
            Class::AquaticAcute => &[],
            Class::AquaticChronic if matches!(category, One | Two) => &[Pictogram::Environment],
            Class::AquaticChronic => &[],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::class::Category;
    use super::*;

    fn of(text: &str) -> Hazard {
        text.parse().unwrap()
    }

    /// 29 CFR 1910.1200 App. C.4 and CLP Annex I: pairs where the code alone would mislead.
    #[test]
    fn the_category_decides_signal_and_pictogram() {
        assert_eq!((of("Ox. Liq. 2").statement(), of("Ox. Liq. 2").signal()), (Some("H272"), Some(Signal::Danger)));
        assert_eq!((of("Ox. Liq. 3").statement(), of("Ox. Liq. 3").signal()), (Some("H272"), Some(Signal::Warning)));
        assert_eq!(
            (of("Org. Perox. D").statement(), of("Org. Perox. D").signal()),
            (Some("H242"), Some(Signal::Danger))
        );
        assert_eq!(
            (of("Org. Perox. F").statement(), of("Org. Perox. F").signal()),
            (Some("H242"), Some(Signal::Warning))
        );
        assert_eq!(of("Flam. Sol. 1").signal(), Some(Signal::Danger));
        assert_eq!(of("Flam. Sol. 2").signal(), Some(Signal::Warning));
        assert_eq!(
            (of("Aquatic Chronic 2").signal(), of("Aquatic Chronic 2").pictograms()),
            (None, &[Pictogram::Environment][..])
        );
        assert_eq!((of("Aquatic Chronic 3").signal(), of("Aquatic Chronic 3").pictograms()), (None, &[][..]));
        assert_eq!(of("Eye Irrit. 2B").pictograms(), &[]);
        assert_eq!(of("Flam. Liq. 4").pictograms(), &[]);
    }

    #[test]
    fn danger_and_warning_follow_the_subcategories() {
        for (text, signal) in [
            ("Skin Corr. 1C", Signal::Danger),
            ("Skin Irrit. 2", Signal::Warning),
            ("Eye Dam. 1", Signal::Danger),
            ("Eye Irrit. 2A", Signal::Warning),
            ("Carc. 1B", Signal::Danger),
            ("Repr. 2", Signal::Warning),
            ("STOT RE 1", Signal::Danger),
            ("STOT SE 2", Signal::Warning),
            ("Acute Tox. 3 (oral)", Signal::Danger),
            ("Acute Tox. 4 (oral)", Signal::Warning),
            ("Flam. Liq. 3", Signal::Warning),
        ] {
            assert_eq!(of(text).signal(), Some(signal), "{text}");
        }
    }

    #[test]
    fn only_a_type_g_peroxide_has_no_statement() {
        let silent: Vec<Hazard> = Hazard::all().filter(|hazard| hazard.statement().is_none()).collect();
        assert_eq!(silent, [Hazard::of(Class::OrganicPeroxide, Category::TypeG)]);
    }
}
