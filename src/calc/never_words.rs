//! What a label's or data sheet's words for "never with" name: families, everything, or something not known here.

use std::sync::LazyLock;

use serde::Deserialize;

use super::family::Family;

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Named {
    /// The families among them, each once.
    pub families: Vec<Family>,
    /// Whether they mean every other product: `other cleaners`.
    pub everything: bool,
    /// Whether the words say more than the families do: `oxidizers`.
    pub wider: bool,
    /// The words that name none of these, as written.
    pub unknown: Vec<String>,
}

#[derive(Deserialize)]
struct Row {
    words: String,
    means: String,
    wider: bool,
}

static GROUPS: LazyLock<Vec<Row>> = LazyLock::new(|| super::built_in(include_str!("never_words.csv")));

/// Words that say no to something: behind `Never mix with:` they would say the opposite.
const DENIAL: [&str; 26] = [
    "none", "no", "not", "nothing", "nil", "never", "do", "don't", "don’t", "avoid", "cannot", "n/a", "na", "n.a",
    "unknown", "false", "tbd", "ninguno", "ninguna", "nada", "nunca", "aucun", "aucune", "rien", "jamais", "ne",
];

/// Whether the words name nothing that can stand behind `Never mix with:`, such as `none` or a sentence that forbids by itself.
pub fn denies(text: &str) -> bool {
    let text = text.to_lowercase();
    let first = text.trim_start_matches(|c: char| !c.is_alphanumeric()).split([' ', ',', ';', ':']).next();
    let first = first.unwrap_or_default().trim_end_matches(|c: char| !c.is_alphanumeric());
    first.is_empty()
        || DENIAL.contains(&first)
        || ["do not", "not be", "not mix", "never"].iter().any(|words| text.contains(words))
}

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
    let core = strip(
        bare,
        &["other ", "strong ", "concentrated ", "products with ", "products containing "],
        &[" products", " product", " cleaners", " cleaner", " solutions", " solution"],
    );
    for name in [bare, singular(bare), core, singular(core)] {
        let family = match GROUPS.iter().find(|row| row.words.split("; ").any(|words| words == name)) {
            Some(row) if row.means == "everything" => {
                found.everything = true;
                return true;
            }
            Some(row) => {
                found.wider |= row.wider;
                row.means.split(' ').filter_map(Family::from_name).collect()
            }
            None => Vec::from_iter(Family::from_name(name)),
        };
        if !family.is_empty() {
            found.families.extend(family);
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
    use super::Family::*;
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
    fn what_denies_names_nothing() {
        for words in [
            "none",
            "None.",
            "(none)",
            "[no]",
            "not known",
            "N/A",
            "n.a.",
            "nothing",
            "-",
            "?",
            "no, nothing",
            "Do not mix with acids.",
            "never mix with bleach",
            "not with acids",
            "Must not be mixed with acids",
            "No known incompatibilities",
            "aucun",
            "ninguno",
        ] {
            assert!(denies(words), "{words}");
        }
        for words in
            ["nonionic detergents", "nitrates", "anything not listed", "3 % peroxide", "Donol", "other cleaners"]
        {
            assert!(!denies(words), "{words}");
        }
    }

    #[test]
    fn groups_wider_than_their_families() {
        for (words, wider) in [
            ("oxidizers", true),
            ("strong bases", true),
            ("alkalis", true),
            ("strong alkalis", false),
            ("bleach", false),
            ("acids", false),
        ] {
            assert_eq!(named(words).wider, wider, "{words}");
        }
    }

    #[test]
    fn every_row_means_something_known() {
        for means in GROUPS.iter().flat_map(|row| row.means.split(' ')).filter(|means| *means != "everything") {
            assert!(Family::from_name(means).is_some(), "{means}");
        }
    }

    #[test]
    fn other_products_are_all_of_them() {
        for words in [
            "other cleaners",
            "any other product",
            "anything else",
            "any other chemical",
            "everything",
            "all chemicals",
        ] {
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
