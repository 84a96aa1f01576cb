//! The blanks and choices that the standards leave in their statements, and what is put there.

use super::statements::Language;

/// Protective equipment that P280 names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)] // The names say it.
pub enum Gear {
    Gloves,
    Clothing,
    Eyes,
    Face,
}

/// What P260 and P261 say not to breathe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)] // The names say it.
pub enum Breathe {
    Dust,
    Fume,
    Gas,
    Mist,
    Vapour,
    Spray,
}

/// What fills the blanks. The defaults suit a watery disinfectant that is wiped, sprayed or misted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Slots {
    /// P280: the equipment the safety data sheet or the method asks for. Nothing chosen means all four.
    pub gear: Vec<Gear>,
    /// P260, P261. Nothing chosen means mist, vapours and spray.
    pub breathe: Vec<Breathe>,
    /// P310 and the like: a telephone number put after the poison centre.
    pub poison_number: Option<String>,
    /// P303+P361+P353: whether a shower is at hand.
    pub shower: bool,
    /// P321: where on the label the treatment is told.
    pub treatment: Option<String>,
    /// EUH208: the sensitisers by name.
    pub sensitisers: Vec<String>,
    /// P264: what is washed, in the language of the label. `None` is the hands.
    pub wash: Option<String>,
    /// P501: where contents and container go, in the language of the label. `None` is an approved waste facility.
    pub disposal: Option<String>,
    /// P370+P378: what extinguishes, in the language of the label. `None` is what suits the surroundings.
    pub extinguisher: Option<String>,
}

impl Default for Slots {
    fn default() -> Self {
        Slots {
            gear: Vec::new(),
            breathe: Vec::new(),
            poison_number: None,
            shower: true,
            treatment: None,
            sensitisers: Vec::new(),
            wash: None,
            disposal: None,
            extinguisher: None,
        }
    }
}

const ALL_GEAR: [Gear; 4] = [Gear::Gloves, Gear::Clothing, Gear::Eyes, Gear::Face];
const WATERY: [Breathe; 3] = [Breathe::Mist, Breathe::Vapour, Breathe::Spray];

fn gear_word(gear: Gear, language: Language) -> &'static str {
    match (language, gear) {
        (Language::English, Gear::Gloves) => "protective gloves",
        (Language::English, Gear::Clothing) => "protective clothing",
        (Language::English, Gear::Eyes) => "eye protection",
        (Language::English, Gear::Face) => "face protection",
        (Language::Spanish, Gear::Gloves) => "guantes de protección",
        (Language::Spanish, Gear::Clothing) => "prendas de protección",
        (Language::Spanish, Gear::Eyes) => "gafas de protección",
        (Language::Spanish, Gear::Face) => "máscara de protección",
        (Language::French, Gear::Gloves) => "des gants de protection",
        (Language::French, Gear::Clothing) => "des vêtements de protection",
        (Language::French, Gear::Eyes) => "un équipement de protection des yeux",
        (Language::French, Gear::Face) => "un équipement de protection du visage",
    }
}

/// The word, for English in the spelling of the text it goes into.
fn breathe_word(breathe: Breathe, language: Language, vapours: &'static str) -> &'static str {
    match (language, breathe) {
        (Language::English, Breathe::Dust) => "dust",
        (Language::English, Breathe::Fume) => "fume",
        (Language::English, Breathe::Gas) => "gas",
        (Language::English, Breathe::Mist) => "mist",
        (Language::English, Breathe::Vapour) => vapours,
        (Language::English, Breathe::Spray) => "spray",
        (Language::Spanish, Breathe::Dust) => "el polvo",
        (Language::Spanish, Breathe::Fume) => "el humo",
        (Language::Spanish, Breathe::Gas) => "el gas",
        (Language::Spanish, Breathe::Mist) => "la niebla",
        (Language::Spanish, Breathe::Vapour) => "los vapores",
        (Language::Spanish, Breathe::Spray) => "el aerosol",
        (Language::French, Breathe::Dust) => "les poussières",
        (Language::French, Breathe::Fume) => "les fumées",
        (Language::French, Breathe::Gas) => "les gaz",
        (Language::French, Breathe::Mist) => "les brouillards",
        (Language::French, Breathe::Vapour) => "les vapeurs",
        (Language::French, Breathe::Spray) => "les aérosols",
    }
}

/// `a`, `a or b`, `a, b or c`. Spanish `o` becomes `u` before an o sound; none of these words begins with one.
fn list(words: &[String], last: &str) -> String {
    match words {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., end] => format!("{} {last} {end}", first.join(", ")),
    }
}

/// The same value once, in the order of the enumeration; the default where nothing is chosen.
fn chosen<T: Copy + Ord>(given: &[T], default: &[T]) -> Vec<T> {
    let mut all = if given.is_empty() { default.to_vec() } else { given.to_vec() };
    all.sort();
    all.dedup();
    all
}

impl Slots {
    /// The same blanks filled, but with one plain word each in place of the user's own.
    pub(super) fn with_plain_words(&self) -> Slots {
        let plain = |own: &Option<String>| own.as_ref().map(|_| "x".to_owned());
        Slots {
            gear: self.gear.clone(),
            breathe: self.breathe.clone(),
            shower: self.shower,
            poison_number: plain(&self.poison_number),
            treatment: plain(&self.treatment),
            sensitisers: self.sensitisers.iter().map(|_| "x".to_owned()).collect(),
            wash: plain(&self.wash),
            disposal: plain(&self.disposal),
            extinguisher: plain(&self.extinguisher),
        }
    }

    /// Fills the text of one statement.
    pub(super) fn fill(&self, text: &str, code: &str, language: Language) -> String {
        let (or, and) = match language {
            Language::English => ("or", "and"),
            Language::Spanish => ("o", "y"),
            Language::French => ("ou", "et"),
        };
        let mut text = without_advice(text, self, code, and);
        text = self.brackets(&text, code);
        for (choice, filled) in self.choices(&text, code, language, or, and) {
            text = text.replacen(choice, &filled, 1);
        }
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ").replace(" .", ".");
        // A blank at the end of a sentence swallows its full stop in the tables.
        let text = if text.ends_with(['.', '!', ':', '…']) { text } else { format!("{text}.") };
        capitalised(&text)
    }

    /// `[or shower]` as there is one; `[In case of inadequate ventilation]` and P241's list of equipment dropped so that the rest holds
    /// always and for all, which is stricter.
    fn brackets(&self, text: &str, code: &str) -> String {
        let Some((before, rest)) = text.split_once('[') else {
            return text.to_owned();
        };
        let Some((inside, after)) = rest.split_once(']') else {
            return text.to_owned();
        };
        let at_start = before.is_empty();
        if self.shower && !at_start && code != "P241" {
            format!("{before}{inside}{after}")
        } else {
            format!("{}{after}", before.trim_end())
        }
    }

    fn choices(&self, text: &str, code: &str, language: Language, or: &str, and: &str) -> Vec<(&'static str, String)> {
        let pick = |english: &str, spanish: &str, french: &str| {
            match language {
                Language::English => english,
                Language::Spanish => spanish,
                Language::French => french,
            }
            .to_owned()
        };
        let given = |own: &Option<String>, default: String| own.clone().unwrap_or(default);
        let number = self.poison_number.as_ref().map(|number| format!(" ({number})")).unwrap_or_default();
        let mut all: Vec<(&'static str, String)> = vec![
            ("POISON CENTER/doctor/…", format!("POISON CENTER{number} {or} doctor")),
            ("un CENTRO DE TOXICOLOGÍA/médico/…", format!("un CENTRO DE TOXICOLOGÍA{number} {or} a un médico")),
            ("un CENTRE ANTIPOISON/un médecin/…", format!("un CENTRE ANTIPOISON{number} {or} un médecin")),
            ("medical advice/attention", "medical advice".to_owned()),
            ("water/…", "water".to_owned()),
            ("agua/…", "agua".to_owned()),
            ("l’eau/…", "l’eau".to_owned()),
            ("contents/container", format!("contents {and} container")),
            ("el contenido/el recipiente", format!("el contenido {and} el recipiente")),
            ("le contenu/récipient", format!("le contenu {and} le récipient")),
        ];
        match code {
            "P260" | "P261" => {
                let vapours = if text.contains("vapors") { "vapors" } else { "vapours" };
                let words: Vec<String> = chosen(&self.breathe, &WATERY)
                    .into_iter()
                    .map(|breathe| breathe_word(breathe, language, vapours).to_owned())
                    .collect();
                let words = list(&words, or);
                all.extend([
                    ("dust/fume/gas/mist/vapours/spray", words.clone()),
                    ("dust/fume/gas/mist/vapors/spray", words.clone()),
                    ("el polvo/el humo/el gas/la niebla/los vapores/el aerosol", words.clone()),
                    ("les poussières/fumées/gaz/brouillards/vapeurs/aérosols", words),
                ]);
            }
            "P280" => {
                let words: Vec<String> = chosen(&self.gear, &ALL_GEAR)
                    .into_iter()
                    .map(|gear| gear_word(gear, language).to_owned())
                    .collect();
                let words = list(&words, and);
                let french = "des gants de protection/des vêtements de protection/un équipement de protection des yeux/du visage";
                all.extend([
                    ("protective gloves/protective clothing/eye protection/face protection", words.clone()),
                    ("guantes/prendas/gafas/máscara de protección", words.clone()),
                    (french, words),
                ]);
            }
            "P264" => all.push(("…", given(&self.wash, pick("hands", "las manos", "les mains")))),
            "P501" => {
                let place = pick(
                    "an approved waste facility",
                    "una instalación autorizada de residuos",
                    "une installation de traitement des déchets agréée",
                );
                all.push(("…", given(&self.disposal, place)));
            }
            "P370+P378" => {
                let means = pick(
                    "an agent suited to the surrounding fire",
                    "un agente adecuado al fuego circundante",
                    "un agent adapté au feu environnant",
                );
                all.push(("…", given(&self.extinguisher, means)));
            }
            "P321" => all.extend(self.treatment.clone().map(|treatment| ("…", treatment))),
            _ => {}
        }
        all
    }
}

/// Replaces `<…>`: the names of EUH208 are put in, every other note to the writer (organs, routes, effects) is dropped, which leaves
/// the wider statement.
fn without_advice(text: &str, slots: &Slots, code: &str, and: &str) -> String {
    let mut filled = String::new();
    let mut rest = text;
    while let Some((before, tail)) = rest.split_once('<') {
        let Some((_, after)) = tail.split_once('>') else { break };
        if code == "EUH208" {
            if slots.sensitisers.is_empty() {
                break;
            }
            filled.push_str(before);
            filled.push_str(&list(&slots.sensitisers, and));
        } else {
            filled.push_str(before.trim_end());
        }
        rest = after;
    }
    filled + rest
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::RuleSet;
    use super::super::statements::text;
    use super::*;

    fn say(code: &str, language: Language, slots: &Slots) -> String {
        text(code, language, RuleSet::EuUk, slots).unwrap()
    }

    #[test]
    fn defaults_read_well() {
        let slots = Slots::default();
        for (code, language, expected) in [
            ("P264", Language::English, "Wash hands thoroughly after handling."),
            ("P264", Language::Spanish, "Lavarse las manos concienzudamente tras la manipulación."),
            ("P264", Language::French, "Se laver les mains soigneusement après manipulation."),
            ("P261", Language::English, "Avoid breathing mist, vapours or spray."),
            ("P260", Language::Spanish, "No respirar la niebla, los vapores o el aerosol."),
            ("P260", Language::French, "Ne pas respirer les brouillards, les vapeurs ou les aérosols."),
            ("P310", Language::English, "Immediately call a POISON CENTER or doctor."),
            ("P310", Language::Spanish, "Llamar inmediatamente a un CENTRO DE TOXICOLOGÍA o a un médico."),
            ("P310", Language::French, "Appeler immédiatement un CENTRE ANTIPOISON ou un médecin."),
            ("P302+P352", Language::English, "IF ON SKIN: Wash with plenty of water."),
            ("P284", Language::English, "Wear respiratory protection."),
            ("P241", Language::English, "Use explosion-proof equipment."),
            ("P241", Language::Spanish, "Utilizar material antideflagrante."),
            ("P241", Language::French, "Utiliser du matériel antidéflagrant."),
            ("P284", Language::Spanish, "Llevar equipo de protección respiratoria."),
            ("P501", Language::English, "Dispose of contents and container to an approved waste facility."),
            ("P337+P313", Language::English, "If eye irritation persists: Get medical advice."),
        ] {
            assert_eq!(say(code, language, &slots), expected);
        }
    }

    #[test]
    fn choices_are_taken() {
        let mut slots = Slots {
            gear: vec![Gear::Eyes, Gear::Gloves, Gear::Eyes],
            breathe: vec![Breathe::Gas],
            poison_number: Some("555-0142".to_owned()),
            shower: false,
            ..Slots::default()
        };
        slots.sensitisers = vec!["A".to_owned(), "B".to_owned()];
        assert_eq!(say("P280", Language::English, &slots), "Wear protective gloves and eye protection.");
        assert_eq!(say("P280", Language::Spanish, &slots), "Llevar guantes de protección y gafas de protección.");
        assert_eq!(say("P260", Language::English, &slots), "Do not breathe gas.");
        assert_eq!(
            say("P312", Language::English, &slots),
            "Call a POISON CENTER (555-0142) or doctor if you feel unwell."
        );
        assert!(say("P303+P361+P353", Language::English, &slots).ends_with("Rinse skin with water."));
        assert_eq!(say("EUH208", Language::English, &slots), "Contains A and B. May produce an allergic reaction.");
        slots.disposal = Some("the drain, under the state/county permit".to_owned());
        let drain = "Dispose of contents and container to the drain, under the state/county permit.";
        assert_eq!(say("P501", Language::English, &slots), drain);
        slots.shower = true;
        assert!(say("P303+P361+P353", Language::English, &slots).ends_with("Rinse skin with water or shower."));
    }
}
