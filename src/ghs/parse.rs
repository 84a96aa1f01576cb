//! Reading a hazard as a safety data sheet writes it: `Acute Tox. 3 (oral)`, `Skin Corr. 1B, H314`, `Aquatic Acute 1 (M=10)`, `H318`.

use std::str::FromStr;
use std::sync::LazyLock;

use serde::Deserialize;
use thiserror::Error;

use super::hazard::{Category, Class, HAZARDS, Hazard, Row};
use crate::quantity::{Number, built_in};

/// A hazard with what may be written beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stated {
    pub hazard: Hazard,
    /// The multiplying factor of an aquatic hazard, at least 1.
    pub m_factor: Option<Number>,
}

/// Why a hazard could not be read, and what would do.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("{0}")]
pub struct ParseHazardError(String);

fn refused<T>(message: String) -> Result<T, ParseHazardError> {
    Err(ParseHazardError(message))
}

fn unexpected<T>(word: &str, text: &str) -> Result<T, ParseHazardError> {
    refused(format!("`{word}` means nothing in `{text}`"))
}

fn needs_choice<T>(text: &str, choices: &[String]) -> Result<T, ParseHazardError> {
    refused(format!("`{text}` does not say which: write {}", choices.join(" or ")))
}

/// A name on data sheets; the category, a word in brackets or a statement code decides which class it means.
#[derive(Deserialize)]
struct Family {
    #[serde(rename = "family")]
    name: String,
    spellings: String,
    ignored: String,
}

static FAMILIES: LazyLock<Vec<Family>> = LazyLock::new(|| built_in(include_str!("families.csv")));

/// A word that people write for a hazard, and what it leaves open.
#[derive(Deserialize)]
struct Bare {
    begins: String,
    open: String,
    classes: String,
}

static BARE: LazyLock<Vec<Bare>> = LazyLock::new(|| built_in(include_str!("bare_words.csv")));

impl Bare {
    /// The classes that may be meant, each with its statement.
    fn question(&self, text: &str) -> String {
        let named = self.classes.split("; ").filter_map(|class| {
            let statement = class.parse::<Hazard>().ok()?.statement()?;
            Some(format!("`{class}` ({statement})"))
        });
        let named = named.collect::<Vec<_>>().join(", ");
        format!(
            "`{text}` does not say {}: copy the class and category, or the H code, from section 2 of the data sheet, such as {named}",
            self.open
        )
    }
}

/// Words that carry nothing of their own.
const FILLERS: [&str; 7] = ["category", "cat", "type", "and", "effects", "tract", "hazard"];

impl Family {
    fn spellings(&self) -> impl Iterator<Item = &str> {
        self.spellings.split("; ")
    }

    fn rows(&self) -> impl Iterator<Item = &'static Row> {
        HAZARDS.iter().filter(|row| row.family == self.name)
    }

    /// Its categories, in the order of the enumeration.
    fn categories(&self) -> Vec<Category> {
        let mut all: Vec<Category> = self.rows().map(|row| row.hazard().category()).collect();
        all.sort();
        all.dedup();
        all
    }

    /// Their names, for a message.
    fn choices(&self) -> String {
        let names: Vec<&str> = self.categories().into_iter().map(Category::name).collect();
        names.join(", ")
    }

    fn unknown_category<T>(&self, written: &str) -> Result<T, ParseHazardError> {
        let (name, written, choices) = (&self.name, written.to_uppercase(), self.choices());
        refused(format!("`{name}` has no category `{written}`; it has {choices}"))
    }

    /// The family whose name the words begin with, and how many words that takes: the longest name wins, and of two that it names
    /// the one that has the category, else the first.
    fn at_start(words: &[String]) -> Option<(&'static Family, usize)> {
        // the last of equals is taken
        let names = FAMILIES.iter().rev().flat_map(|family| family.spellings().map(move |name| (family, name)));
        let category = words.iter().find_map(|word| word.parse::<Category>().ok());
        names
            .map(|(family, name)| (family, name.split(' ').collect::<Vec<_>>()))
            .filter(|(_, name)| words.len() >= name.len() && words.iter().zip(name).all(|(word, part)| word == part))
            .map(|(family, name)| (family, name.len()))
            .max_by_key(|(family, length)| {
                (*length, category.is_some_and(|category| family.categories().contains(&category)))
            })
    }
}

/// A word in brackets as the table `hazards.csv` writes it in its details.
fn detail(word: &str) -> &str {
    match word {
        "swallowed" => "oral",
        "skin" => "dermal",
        "inhal" | "inhaled" => "inhalation",
        "gases" => "gas",
        "vapours" | "vapor" | "vapors" => "vapour",
        "dust" | "dusts" | "mists" => "mist",
        "irritation" | "rti" => "respiratory",
        "narcosis" | "drowsiness" | "ne" => "narcotic",
        other => other,
    }
}

fn has_detail(row: &Row, word: &str) -> bool {
    row.detail.split(", ").any(|part| part == detail(word))
}

fn is_code(word: &str) -> bool {
    let digits = word.strip_prefix("euh").or_else(|| word.strip_prefix('h')).unwrap_or("");
    digits.len() >= 3 && digits.bytes().take(3).all(|b| b.is_ascii_digit())
}

/// A code with its ending (`H360FD`, `H350i`) cut off: the class and category are the same.
fn base_code(word: &str) -> String {
    word.to_ascii_uppercase().chars().take(4).collect()
}

impl FromStr for Stated {
    type Err = ParseHazardError;

    fn from_str(text: &str) -> Result<Stated, ParseHazardError> {
        let (rest, m_factor) = split_m_factor(text)?;
        let hazard = parse_hazard(text.trim(), &rest)?;
        if m_factor.is_some() && !(hazard.class().is_environmental() && hazard.category() == Category::One) {
            return m_factor_out_of_place(text);
        }
        Ok(Stated { hazard, m_factor })
    }
}

impl FromStr for Hazard {
    type Err = ParseHazardError;

    /// As [`Stated`], without an M-factor.
    fn from_str(text: &str) -> Result<Hazard, ParseHazardError> {
        let stated: Stated = text.parse()?;
        if stated.m_factor.is_some() { m_factor_out_of_place(text) } else { Ok(stated.hazard) }
    }
}

fn m_factor_out_of_place<T>(text: &str) -> Result<T, ParseHazardError> {
    refused(format!("`{}`: only an aquatic hazard of Category 1 has an M-factor", text.trim()))
}

/// Takes `M=10`, `M = 10`, `M-factor 10` out of the text.
fn split_m_factor(text: &str) -> Result<(String, Option<Number>), ParseHazardError> {
    let lower = text.to_lowercase();
    let starts = |at: usize| at == 0 || !lower.as_bytes()[at - 1].is_ascii_alphanumeric();
    let Some(at) = lower.match_indices('m').map(|(at, _)| at).find(|&at| {
        let after = lower[at + 1..].trim_start();
        starts(at) && (after.starts_with(['=', ':']) || after.starts_with("-factor") || after.starts_with("factor"))
    }) else {
        return Ok((lower, None));
    };
    let after = lower[at + 1..].trim_start_matches(|c: char| !c.is_ascii_digit() && c != '.');
    let end = after.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(after.len());
    match crate::quantity::number(after[..end].trim_end_matches('.')) {
        Ok(factor) if factor >= 1 => Ok((format!("{} {}", &lower[..at], &after[end..]), Some(factor))),
        _ => refused(format!("`{}`: an M-factor is a number of at least 1, such as (M=10)", text.trim())),
    }
}

/// `rest` is the text in lower case without its M-factor.
fn parse_hazard(text: &str, rest: &str) -> Result<Hazard, ParseHazardError> {
    let all = rest.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_owned);
    let (codes, words): (Vec<String>, Vec<String>) = all.partition(|word| is_code(word));
    if let Some(code) = codes.iter().find(|code| code.starts_with("euh")) {
        let code = code.to_ascii_uppercase();
        return refused(format!("{code} is a supplemental statement, not a hazard class; leave it out of the hazards"));
    }
    if words.is_empty() {
        return match codes.as_slice() {
            [] => refused("no hazard is written here; write one such as `Skin Corr. 1B`".to_owned()),
            [code] => by_code(&base_code(code)),
            [_, second, ..] => unexpected(&second.to_uppercase(), text),
        };
    }
    let Some((family, length)) = Family::at_start(&words) else {
        if let Some(word) = BARE.iter().find(|bare| words.iter().any(|word| word.starts_with(&bare.begins))) {
            return refused(word.question(text));
        }
        let hint = match nearest(&words) {
            Some(name) => format!("did you mean `{name}`?"),
            None => {
                "write it as the safety data sheet does, such as `Skin Corr. 1B` or `Acute Tox. 3 (oral)`, or its H code"
                    .to_owned()
            }
        };
        return refused(format!("`{text}` is no hazard class known here; {hint}"));
    };
    let named = words[..length].join(" ");
    let alike: Vec<&Family> =
        FAMILIES.iter().filter(|family| family.spellings().any(|spelling| spelling == named)).collect();
    if alike.len() > 1 && !words.iter().any(|word| word.parse::<Category>().is_ok()) {
        let choices: Vec<String> =
            alike.iter().map(|family| format!("`{}` has {}", family.name, family.choices())).collect();
        return refused(format!("`{text}` needs its category: {}", choices.join(", ")));
    }
    let (rows, category) = narrowed(family, &words[length..], text)?;
    let mut fitting: Vec<Hazard> = rows.iter().map(|row| row.hazard()).filter(|h| h.category() == category).collect();
    if let Some(code) = codes.first().map(|code| base_code(code)) {
        let carried: Vec<&str> = fitting.iter().filter_map(|hazard| hazard.statement()).collect();
        if !carried.contains(&code.as_str()) {
            let hazard = format!("{} {}", family.name, category.name());
            let (hazard, carried) = (hazard.trim_end(), carried.join(" or "));
            return refused(format!("`{hazard}` carries {carried}, not {code}; one of the two is mistaken"));
        }
        fitting.retain(|hazard| hazard.statement() == Some(code.as_str()));
    }
    // Several left: `(inhalation)` leaves the unspecified form among the four; nothing else may be left open.
    match fitting.as_slice() {
        [only] => Ok(*only),
        [] => unexpected(&words[words.len() - 1], text),
        several if several.iter().all(|hazard| hazard.class().is_acute_inhalation()) => Ok(several[0]),
        several => needs_choice(text, &choices(several)),
    }
}

/// What the words after a family's name leave of it, and the category they name.
fn narrowed(family: &Family, words: &[String], text: &str) -> Result<(Vec<&'static Row>, Category), ParseHazardError> {
    let mut found = None;
    let mut rows: Vec<&Row> = family.rows().collect();
    for word in words.iter().filter(|word| !FILLERS.contains(&word.as_str())) {
        if let Some(written) = word.parse().ok().filter(|_| found.is_none()) {
            found = Some(written);
        } else if family.rows().any(|row| has_detail(row, word)) {
            rows.retain(|row| has_detail(row, word));
        } else if family.ignored.split(' ').any(|ignored| ignored == word) {
        } else if family.name == "Org. Perox." && word.len() > 1 && word.chars().all(|c| ('a'..='g').contains(&c)) {
            let letters: Vec<String> = word.to_uppercase().chars().map(|c| format!("`Org. Perox. {c}`")).collect();
            return needs_choice(text, &letters);
        } else if found.is_none() && word.starts_with(|c: char| c.is_ascii_digit()) {
            return family.unknown_category(word);
        } else {
            return unexpected(word, text);
        }
    }
    let categories = family.categories();
    match found {
        Some(category) if categories.contains(&category) => Ok((rows, category)),
        Some(category) => family.unknown_category(category.name()),
        // One nameless category: there is nothing to write.
        None if categories == [Category::Only] => Ok((rows, Category::Only)),
        None => refused(format!("`{}` needs a category: {}", family.name, family.choices())),
    }
}

/// What may be written for one of these; the form of an inhalation need not be.
fn choices(hazards: &[Hazard]) -> Vec<String> {
    let forms = [Class::AcuteGas, Class::AcuteVapour, Class::AcuteMist];
    hazards.iter().filter(|hazard| !forms.contains(&hazard.class())).map(|hazard| format!("`{hazard}`")).collect()
}

/// The hazard a statement code stands for, where it stands for one.
fn by_code(code: &str) -> Result<Hazard, ParseHazardError> {
    let carried: Vec<Hazard> = Hazard::all().filter(|hazard| hazard.statement() == Some(code)).collect();
    let Some(&first) = carried.first() else {
        let hint = "write the class and category, such as `Skin Corr. 1B`";
        return refused(format!("{code} is no hazard statement known here; {hint}"));
    };
    // A code of one class whose categories share signal and pictogram is its plain, undivided category: H314 is Skin Corr. 1. Acute
    // toxicity is held back (H300 is Category 1 or 2, with different point estimates), and so are H240 and H241, which
    // self-reactive mixtures carry too.
    let one_class = carried.iter().all(|hazard| hazard.class() == first.class());
    let same_effect = carried.iter().all(|h| h.signal() == first.signal() && h.pictograms() == first.pictograms());
    let divided = matches!(first.category(), Category::One | Category::Two) && !first.class().is_physical();
    let inhaled = carried.iter().all(|hazard| hazard.class().is_acute_inhalation());
    let one_category = carried.iter().all(|hazard| hazard.category() == first.category());
    let plain = one_class && same_effect && divided && !first.class().is_acute();
    let decided = carried.len() == 1 || plain || (inhaled && one_category);
    if decided && !matches!(code, "H240" | "H241") {
        return Ok(first);
    }
    let mut choices = choices(&carried);
    if code.starts_with("H24") {
        choices.push("the class of a self-reactive mixture, which is not known here".to_owned());
    }
    refused(format!("{code} alone does not decide the class and category: write {}", choices.join(" or ")))
}

/// The printed name nearest to what was written, if it is near at all.
fn nearest(words: &[String]) -> Option<&'static str> {
    let names: Vec<&str> = words.iter().map(String::as_str).filter(|word| word.parse::<Category>().is_err()).collect();
    let written = names.join(" ");
    FAMILIES
        .iter()
        .flat_map(|family| family.spellings().map(move |name| (family.name.as_str(), name)))
        .map(|(printed, name)| (printed, strsim::jaro_winkler(name, &written)))
        .filter(|(_, score)| *score > 0.8)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(name, _)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Deserialize)]
    struct Case {
        written: String,
        read: String,
        refused: String,
    }

    #[test]
    fn what_data_sheets_write() {
        for Case { written, read, refused } in built_in::<Case>(include_str!("parse_cases.csv")) {
            match written.parse::<Stated>() {
                Ok(Stated { hazard, m_factor }) => {
                    let m = m_factor.map(|m| format!(" M={m}")).unwrap_or_default();
                    assert_eq!(format!("{hazard}{m}"), read, "{written}");
                }
                Err(error) => {
                    assert!(!refused.is_empty(), "{written}: {error}");
                    for part in refused.split(" | ") {
                        assert!(error.to_string().contains(part), "{written}: {error} lacks {part}");
                    }
                }
            }
        }
    }

    #[test]
    fn canonical_form_reads_back() {
        for hazard in Hazard::all() {
            assert_eq!(hazard.to_string().parse::<Hazard>(), Ok(hazard));
        }
        for family in FAMILIES.iter() {
            assert!(family.rows().next().is_some(), "{} is in no row of hazards.csv", family.name);
        }
        for bare in BARE.iter() {
            let asked = bare.question("it");
            assert_eq!(asked.matches(" (H").count(), bare.classes.split("; ").count(), "{asked}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "[ -~éµ…]{0,40}|(Acute|Skin|H3|M=|STOT|1A| |\\(|2){0,9}") {
            if let Ok(stated) = text.parse::<Stated>() {
                proptest::prop_assert_eq!(stated.hazard.to_string().parse::<Hazard>(), Ok(stated.hazard));
            }
        }
    }
}
