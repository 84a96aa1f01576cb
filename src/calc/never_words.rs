//! What a label's or data sheet's words for "never with" name: families, everything, or something not known here.

use super::family::Family::{self, *};

/// What some words name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Named {
    /// The families among them, each once.
    pub families: Vec<Family>,
    /// Whether they mean every other product: `other cleaners`.
    pub everything: bool,
    /// The words that name none of these, as written.
    pub unknown: Vec<String>,
}

/// Words for several families at once.
const GROUPS: &[(&[&str], &[Family])] = &[
    (
        &["oxidizer", "oxidiser", "oxidizing agent", "oxidising agent", "oxidant"],
        &[Hypochlorite, Chloroisocyanurate, HydrogenPeroxide, PeraceticAcid, Iodine, Chlorite],
    ),
    (
        &["chlorine", "bleach", "chlorine bleach", "chlorine compound", "chlorinated"],
        &[Hypochlorite, Chloroisocyanurate],
    ),
    (&["peroxide"], &[HydrogenPeroxide, PeraceticAcid]),
    (&["flammable", "flammable liquid", "solvent"], &[Alcohol, Combustible]),
    (&["fuel", "oil", "grease", "organic material"], &[Combustible]),
    (&["base", "caustic", "lye"], &[Alkali]),
    (&["ammonium salt", "ammonium compound"], &[Ammonia]),
    (&["detergent"], &[AnionicDetergent]),
];

/// What is said of other products without naming a chemistry: it then means all of them, the reading that protects.
const EVERYTHING: &[&str] = &[
    "anything",
    "anything else",
    "anything but water",
    "everything",
    "other product",
    "other chemical",
    "other cleaner",
    "other disinfectant",
    "other sanitizer",
    "other cleaning product",
    "other cleaning agent",
    "other household product",
];

/// Reads the words of one entry: names with commas, `and`, `or` or a slash between them.
pub fn named(text: &str) -> Named {
    let mut found = Named::default();
    // First as a whole: a name may hold an `and`.
    if !add(text, &mut found) {
        let mut parts = vec![text.to_owned()];
        for between in [",", ";", "/", " and ", " or ", " nor "] {
            parts = parts.iter().flat_map(|part| part.split(between).map(str::to_owned)).collect();
        }
        for part in parts.iter().map(|part| part.trim()).filter(|part| !part.is_empty()) {
            let part = ["and ", "or "].iter().find_map(|word| part.strip_prefix(word)).unwrap_or(part);
            if !add(part, &mut found) {
                found.unknown.push(part.to_owned());
            }
        }
    }
    found.families.sort_unstable();
    found.families.dedup();
    found
}

/// Adds what a name stands for; `false` if it is not known.
fn add(text: &str, found: &mut Named) -> bool {
    let text = text.trim().to_lowercase();
    let bare = strip(&text, &["any ", "all "], &[]);
    let one = singular(bare);
    if EVERYTHING.contains(&one) {
        found.everything = true;
        return true;
    }
    let core = strip(
        bare,
        &["other ", "strong ", "concentrated ", "products with ", "products containing "],
        &[" products", " product", " cleaners", " cleaner", " solutions", " solution"],
    );
    for name in [bare, one, core, singular(core)] {
        if let Some((_, families)) = GROUPS.iter().find(|(names, _)| names.contains(&name)) {
            found.families.extend_from_slice(families);
            return true;
        }
        if let Some(family) = Family::from_name(name) {
            found.families.push(family);
            return true;
        }
    }
    false
}

fn strip<'t>(text: &'t str, before: &[&str], after: &[&str]) -> &'t str {
    let text = before.iter().find_map(|word| text.strip_prefix(word)).unwrap_or(text);
    after.iter().find_map(|word| text.strip_suffix(word)).unwrap_or(text)
}

fn singular(text: &str) -> &str {
    text.strip_suffix('s').unwrap_or(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_labels() {
        for (words, families) in [
            ("soap", &[AnionicDetergent][..]),
            ("Strong acids", &[Acid]),
            ("acid cleaners", &[Acid]),
            ("chlorine bleach", &[Hypochlorite, Chloroisocyanurate]),
            ("ammonia, acids or bleach", &[Hypochlorite, Chloroisocyanurate, Acid, Ammonia]),
            ("acids, and vinegar", &[Acid, AceticAcid]),
            ("peroxides", &[HydrogenPeroxide, PeraceticAcid]),
            ("anionic detergents", &[AnionicDetergent]),
            ("products containing ammonia", &[Ammonia]),
        ] {
            let found = named(words);
            assert_eq!(found.families, families, "{words}");
            assert!(found.unknown.is_empty() && !found.everything, "{words}");
        }
    }

    #[test]
    fn other_products_are_all_of_them() {
        for words in ["other cleaners", "any other product", "anything else", "other chemicals"] {
            assert!(named(words).everything, "{words}");
        }
        assert!(!named("other acids").everything);
    }

    #[test]
    fn what_is_not_known_is_kept_as_written() {
        let found = named("Aluminium or acids");
        assert_eq!((found.unknown, found.families), (vec!["Aluminium".to_owned()], vec![Acid]));
        assert_eq!(named("Brand X").unknown, ["Brand X"]);
    }
}
