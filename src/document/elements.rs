//! What a label must carry: one table, each row with the rule it is from.

use std::collections::BTreeSet;

use serde_json::Value;

use super::label::LabelJob;
use crate::company::{LabelSignal, Regime, SizeClass, StateRule, Stock};
use crate::diagnostic::Diagnostic;
use crate::ghs::Language;
use crate::plan::TreatmentPlan;
use crate::wording::Words;

/// A set of rules, or of advice, that names elements of a label.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rules {
    /// Of a country.
    Of(Regime),
    /// Of a state, on top of those of the United States.
    In(StateRule),
    /// What EPA advises for secondary and service containers. It binds nobody.
    Epa,
}

impl Rules {
    fn all() -> impl Iterator<Item = Rules> {
        let countries = Regime::WORDS.iter().map(|(_, regime)| Rules::Of(*regime));
        let states = StateRule::WORDS.iter().map(|(_, state)| Rules::In(*state));
        countries.chain(states).chain([Rules::Epa])
    }

    /// The word that templates are given, and that files use.
    pub(super) fn word(self) -> &'static str {
        match self {
            Rules::Of(regime) => regime.word(),
            Rules::In(state) => state.word(),
            Rules::Epa => "epa-advice",
        }
    }

    pub(super) fn of_word(word: &str) -> Option<Rules> {
        Rules::all().find(|rules| rules.word() == word)
    }

    /// What a label follows under a regime and the rules of some states.
    pub(super) fn followed(regime: Regime, states: &[StateRule]) -> BTreeSet<Rules> {
        let mut rules = BTreeSet::from([Rules::Of(regime)]);
        if regime.is_of_the_united_states() {
            rules.insert(Rules::Epa);
            rules.extend(states.iter().map(|state| Rules::In(*state)));
        }
        rules
    }
}

/// Something that a label carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Element {
    Product,
    Signal,
    HazardStatements,
    Pictograms,
    Precautions,
    SheetAtHand,
    English,
    French,
    FirmName,
    FirmAddress,
    FirmPhone,
    PesticideSignal,
    ChildWarning,
    DilutedAsDirected,
    Registration,
    Actives,
}

use Element::*;

const US: Rules = Rules::Of(Regime::UnitedStates);
const US_GENERAL: Rules = Rules::Of(Regime::UnitedStatesGeneral);
const EU_UK: Rules = Rules::Of(Regime::EuUk);
const CANADA: Rules = Rules::Of(Regime::Canada);
const CALIFORNIA: Rules = Rules::In(StateRule::California);

/// Every element that a set of rules names, and where it does. An element that rules of a country or state name is never
/// left off, and files that do not give it are refused; one that EPA advises is carried where the files give it and there is
/// space. Signal word, pictograms and precautionary statements are those that the classification calls for, and none where
/// it calls for none.
///
/// Where a rule leaves it open, the side that protects is taken: under (f)(6)(ii) the general hazard information is all
/// that shows the hazard (signal word, pictograms, hazard statements); in the EU, where Directive 92/58/EEC asks for the
/// pictograms and lets the rest be added, all that CLP asks of a package that is sold, but that precautions may go in part
/// and last of all where a small label is the only one that the container takes; in Canada the precautions that
/// Québec asks for, and both languages, though the federal rule for decanted containers names no
/// language (Part 6 of the Hazardous Products Regulations, which was not read, binds suppliers).
const TABLE: &[(Rules, &str, &[Element])] = &[
    (US, "29 CFR 1910.1200(f)(6)(i)", &[Product, Signal, HazardStatements, Pictograms, Precautions]),
    (US, "29 CFR 1910.1200(f)(10)", &[English]),
    (US_GENERAL, "29 CFR 1910.1200(f)(6)(ii)", &[Product, Signal, HazardStatements, Pictograms]),
    (US_GENERAL, "29 CFR 1910.1200(f)(10)", &[English]),
    (EU_UK, "Directive 92/58/EEC, Annex III, and Regulation (EC) 1272/2008, Article 18", &[Product]),
    (EU_UK, "Directive 92/58/EEC, Annex III", &[Pictograms]),
    (EU_UK, "Regulation (EC) 1272/2008, Article 17(1)", &[Signal, HazardStatements, FirmName, FirmAddress, FirmPhone]),
    (CANADA, "Canada, SOR/86-304, s. 10.35(2)", &[Product, Signal, HazardStatements, Pictograms, SheetAtHand]),
    (CANADA, "Québec, S-2.1, r. 8.1, s. 7", &[Precautions]),
    (CANADA, "Canada, SOR/2015-17, Part 6", &[English, French]),
    (CALIFORNIA, "3 CCR 6678", &[FirmName, FirmAddress, Product, PesticideSignal]),
    (
        Rules::Epa,
        "EPA, Secondary Containers and Service Containers for Pesticides (its list was not verified against the page); advice, not law",
        &[
            Product,
            Registration,
            Actives,
            DilutedAsDirected,
            PesticideSignal,
            ChildWarning,
            FirmName,
            FirmAddress,
            FirmPhone,
        ],
    ),
];

impl Element {
    /// Where a label's data carries it, and the key of `optional` under which the template would leave it off. A language is
    /// not a field: its texts are all over the label.
    fn place(self) -> (&'static str, Option<&'static str>) {
        match self {
            Product => ("/product", None),
            Signal => ("/ghs/signal", None),
            HazardStatements => ("/ghs/hazards", None),
            Pictograms => ("/ghs/pictograms", None),
            Precautions => ("/ghs/precautions", Some("precautions")),
            SheetAtHand => ("/sheet_at_hand", None),
            English | French => ("", None),
            FirmName => ("/firm/name", None),
            FirmAddress => ("/firm/address", Some("firm-address")),
            FirmPhone => ("/firm/phone", None),
            PesticideSignal => ("/pesticide/signal", Some("pesticide")),
            ChildWarning => ("/pesticide/child", Some("pesticide")),
            DilutedAsDirected => ("/pesticide/lines", Some("pesticide-lines")),
            Registration => ("/registration", Some("registration")),
            Actives => ("/actives", Some("actives")),
        }
    }

    /// Whether this label has it, or needs none.
    fn is_met(self, label: &Value, treatment: &TreatmentPlan, spoken: &[&Words]) -> bool {
        let speaks = |tag: &str, statements| spoken.iter().any(|w| w.language == tag && w.statements == statements);
        match self {
            English => return speaks("en", Language::ENGLISH),
            French => return speaks("fr", Language::FRENCH),
            // which of these there are follows from the classification, and a label that is classified has them all
            Signal | Pictograms | Precautions => return true,
            PesticideSignal if treatment.product.label_signal == Some(LabelSignal::Absent) => return true,
            _ => {}
        }
        match label.pointer(self.place().0) {
            None | Some(Value::Null) => false,
            Some(Value::String(text)) => !text.is_empty(),
            Some(Value::Array(items)) => !items.is_empty(),
            Some(_) => true,
        }
    }

    /// What is missing, where it is to be written, and what.
    fn remedy(self, product: &str) -> (String, Vec<&str>, &'static str) {
        let of_product = |key: &'static str| vec!["products", product, key];
        match self {
            English => (
                "the words in English".into(),
                vec!["languages"],
                "write English as one of the two languages, such as `languages: { labels: [en, es] }`, in the company file or \
                 the job",
            ),
            French => (
                "the words in French".into(),
                vec!["languages"],
                "write `languages: { labels: [en, fr] }` (or the other way round) in the company file or the job; \
                 `--language` prints one language alone",
            ),
            FirmName => ("the firm's name".into(), vec!["company", "name"], "write `name`"),
            FirmAddress => ("the firm's address".into(), vec!["company", "address"], "write `address`"),
            FirmPhone => ("the firm's telephone number".into(), vec!["company", "phone"], "write `phone`"),
            PesticideSignal => (
                format!("the signal word of the label of `{product}`"),
                of_product("label_signal"),
                "write `label_signal: DANGER`, `WARNING` or `CAUTION` as the product's label has it, or `none` if it has none",
            ),
            Registration => {
                (format!("the registration number of `{product}`"), of_product("registration"), "write `registration`")
            }
            other => (format!("{other:?} of `{product}`"), of_product("name"), "write it"),
        }
    }
}

/// The elements that rules require, each with its source.
fn required(rules: &BTreeSet<Rules>) -> impl Iterator<Item = (Element, &'static str)> {
    let rows = TABLE.iter().filter(|(of, ..)| *of != Rules::Epa && rules.contains(of));
    rows.flat_map(|(_, source, elements)| elements.iter().map(|element| (*element, *source)))
}

/// Whether rules want it said that a safety data sheet is to be had.
pub(super) fn wants_sheet_at_hand(rules: &BTreeSet<Rules>) -> bool {
    required(rules).any(|(element, _)| element == SheetAtHand)
}

/// Whether rules or advice want the signal word of the concentrate's own label.
pub(super) fn wants_concentrate_signal(rules: &BTreeSet<Rules>) -> bool {
    TABLE.iter().any(|(of, _, elements)| rules.contains(of) && elements.contains(&PesticideSignal))
}

/// Pictograms in black, where no label may have them so.
///
/// CLP has red frames alone (Annex I, 1.2.1.1), and Directive 92/58/EEC asks for its pictograms: no other label takes the place
/// of one with them. In the United States, where 29 CFR 1910.1200, Appendix C.2.3.1, wants red frames too, a label for the work
/// place may be made after (f)(6)(ii) instead; then that is what it claims, and a note says so.
pub(super) fn black_frames(job: &LabelJob<'_>, treatment: &TreatmentPlan, stock: &Stock) -> Option<Diagnostic> {
    let place = job.job.company.source.root().origin().key("stock").key(&treatment.stock).key("ink");
    let message = "these labels are printed in black, and their pictograms must have red frames after Regulation (EC) \
                   1272/2008, Annex I, 1.2.1.1";
    let problem = place.error("label-frames-black", message);
    (stock.regime == Regime::EuUk).then(|| problem.hint("print them in color: `ink: color`, and no `--ink black`"))
}

/// What may be left off a label that is too small for everything, first dropped first: nothing that the rules require.
/// Product, signal word, pictograms and hazard statements are in no such list: the template cannot leave them off. The
/// logo comes only where the rest leaves it space. What EPA advises goes last, and of it last what says that the product is
/// diluted as directed, and which product it is. After all of it goes what the product must never be mixed with: whoever tops
/// the container up reads the label, not the mix sheet.
///
/// On a little bottle the words outrank the code, which could take a third of the label; on a larger label the code
/// takes a corner, and leads to the record when the words are wiped off.
pub(super) fn optional(class: SizeClass, rules: &BTreeSet<Rules>) -> Vec<&'static str> {
    let mut keys = vec![
        "logo",
        "large",
        "kind",
        "captions",
        "contact-small",
        "dilution-small",
        "strength-small",
        "deference",
        "ghs-source",
        "lot",
        "by",
    ];
    if !rules.contains(&Rules::Epa) {
        // where EPA's advice is not followed, what it names gives way to what the law of the country wants
        keys.extend(["registration", "pesticide-lines", "pesticide", "actives"]);
    }
    let is_full = !rules.contains(&US_GENERAL);
    match class {
        _ if is_full => keys.push("qr"),
        SizeClass::SmallBottle => keys.extend(["qr", "precautions"]),
        _ => keys.extend(["precautions", "qr"]),
    }
    keys.extend(["container", "discard", "follows", "actives", "emergency", "firm-address", "mixed", "site"]);
    keys.extend(["pesticide-lines", "registration", "pesticide", "precautions", "never-with"]);
    let mut seen = BTreeSet::new();
    keys.retain(|key| seen.insert(*key));
    let kept: BTreeSet<&str> = required(rules).filter_map(|(element, _)| element.place().1).collect();
    keys.retain(|key| !kept.contains(key));
    keys
}

/// What the labels of a treatment lack of what their rules require, each once, at the place where it is to be written.
pub(super) fn lacking(
    job: &LabelJob<'_>,
    treatment: &TreatmentPlan,
    label: &Value,
    rules: &BTreeSet<Rules>,
) -> Vec<Diagnostic> {
    let spoken: Vec<&Words> = [Some(job.voice), job.second].into_iter().flatten().map(|voice| voice.words).collect();
    let mut reported = BTreeSet::new();
    let mut found = Vec::new();
    for (element, source) in required(rules) {
        if element.is_met(label, treatment, &spoken) || !reported.insert(element) {
            continue;
        }
        let (what, place, write) = element.remedy(&treatment.product.key);
        let origin = place.iter().fold(job.job.company.source.root().origin(), |at, key| at.key(key));
        let message = format!("the label lacks {what}, which it must carry after {source}");
        found.push(origin.error("label-element-missing", message).hint(write));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    const CLASSES: [SizeClass; 5] =
        [SizeClass::SmallBottle, SizeClass::LargeBottle, SizeClass::Tank, SizeClass::Tag, SizeClass::Drum];

    fn names(rules: Rules) -> BTreeSet<Element> {
        TABLE.iter().filter(|(of, ..)| *of == rules).flat_map(|(_, _, elements)| elements.iter().copied()).collect()
    }

    #[test]
    fn what_is_required_is_never_left_off() {
        for ((_, regime), class) in Regime::WORDS.iter().flat_map(|regime| CLASSES.map(|class| (regime, class))) {
            let rules = Rules::followed(*regime, &[StateRule::California]);
            let may_go = optional(class, &rules);
            for (element, _) in required(&rules) {
                let key = element.place().1.unwrap_or("none");
                assert!(!may_go.contains(&key), "{regime:?} {class:?}: {element:?}");
            }
        }
    }

    /// 29 CFR 1910.1200(f)(6)(i) names the precautionary statements and (ii) does not.
    #[test]
    fn precautions_go_only_where_general_information_will_do() {
        for class in CLASSES {
            let drops = |regime| optional(class, &Rules::followed(regime, &[])).contains(&"precautions");
            assert!(!drops(Regime::UnitedStates) && drops(Regime::UnitedStatesGeneral));
        }
    }

    #[test]
    fn what_must_never_be_mixed_goes_last() {
        for (_, regime) in Regime::WORDS {
            for class in CLASSES {
                assert_eq!(optional(class, &Rules::followed(*regime, &[])).last(), Some(&"never-with"));
            }
        }
    }

    #[test]
    fn the_rows_are_those_of_the_rules() {
        let full = BTreeSet::from([Product, Signal, HazardStatements, Pictograms, Precautions]);
        assert!(names(US).is_superset(&full));
        assert_eq!(names(US).len(), 6, "and English");
        assert!(names(CANADA).is_superset(&full) && names(CANADA).contains(&SheetAtHand));
        // 3 CCR 6678: name and address of who answers for the container, what it is, the label's signal word
        assert_eq!(names(CALIFORNIA), BTreeSet::from([FirmName, FirmAddress, Product, PesticideSignal]));
        for rules in Rules::all() {
            assert!(names(rules).contains(&Product), "{rules:?}");
            assert_eq!(Rules::of_word(rules.word()), Some(rules));
        }
    }

    #[test]
    fn states_add_to_the_united_states_alone() {
        let california = [StateRule::California];
        assert!(Rules::followed(Regime::UnitedStates, &california).contains(&CALIFORNIA));
        assert!(!Rules::followed(Regime::EuUk, &california).contains(&CALIFORNIA));
    }
}
