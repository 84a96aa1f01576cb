//! What a label must carry: one table, each row with the rule it is from.

use std::collections::BTreeSet;

use serde_json::Value;

use super::label::LabelJob;
use super::voice::Voice;
use crate::catalog::{LabelSignal, Regime, SizeClass, StateRule};
use crate::ghs::Language;
use crate::plan::TreatmentPlan;
use crate::report::Diagnostic;
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

/// Whether the label must carry it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Duty {
    /// Never left off; an error where the files do not give it.
    Required,
    /// Carried where the files give it, and where there is room.
    Advised,
}

/// One element that a set of rules names, and where it does.
pub(super) struct Row {
    pub rules: Rules,
    pub element: Element,
    pub duty: Duty,
    pub source: &'static str,
}

const fn required(rules: Rules, element: Element, source: &'static str) -> Row {
    Row { rules, element, duty: Duty::Required, source }
}

const fn advised(element: Element, source: &'static str) -> Row {
    Row { rules: Rules::Epa, element, duty: Duty::Advised, source }
}

const US: Rules = Rules::Of(Regime::UnitedStates);
const US_GENERAL: Rules = Rules::Of(Regime::UnitedStatesGeneral);
const EU_UK: Rules = Rules::Of(Regime::EuUk);
const CANADA: Rules = Rules::Of(Regime::Canada);
const CALIFORNIA: Rules = Rules::In(StateRule::California);

const EPA: &str = "EPA, Secondary Containers and Service Containers for Pesticides (its list was not verified against the page); advice, not law";

/// Every element that a set of rules names. Signal word, pictograms and precautionary statements are those that the
/// classification calls for, and none where it calls for none.
///
/// Where a rule leaves it open, the side that protects is taken: under (f)(6)(ii) the general hazard information is all
/// that shows the hazard (signal word, pictograms, hazard statements); in the EU, where Directive 92/58/EEC asks for the
/// pictograms and lets the rest be added, all that CLP asks of a package that is sold; in Canada the precautions that
/// Québec asks for, and both languages, though the federal rule for decanted containers names no
/// language (Part 6 of the Hazardous Products Regulations, which was not read, binds suppliers).
pub(super) const TABLE: &[Row] = &[
    required(US, Element::Product, "29 CFR 1910.1200(f)(6)(i)"),
    required(US, Element::Signal, "29 CFR 1910.1200(f)(6)(i)"),
    required(US, Element::HazardStatements, "29 CFR 1910.1200(f)(6)(i)"),
    required(US, Element::Pictograms, "29 CFR 1910.1200(f)(6)(i)"),
    required(US, Element::Precautions, "29 CFR 1910.1200(f)(6)(i)"),
    required(US, Element::English, "29 CFR 1910.1200(f)(10)"),
    required(US_GENERAL, Element::Product, "29 CFR 1910.1200(f)(6)(ii)"),
    required(US_GENERAL, Element::Signal, "29 CFR 1910.1200(f)(6)(ii)"),
    required(US_GENERAL, Element::HazardStatements, "29 CFR 1910.1200(f)(6)(ii)"),
    required(US_GENERAL, Element::Pictograms, "29 CFR 1910.1200(f)(6)(ii)"),
    required(US_GENERAL, Element::English, "29 CFR 1910.1200(f)(10)"),
    required(EU_UK, Element::Product, "Directive 92/58/EEC, Annex III, and Regulation (EC) 1272/2008, Article 18"),
    required(EU_UK, Element::Pictograms, "Directive 92/58/EEC, Annex III"),
    required(EU_UK, Element::Signal, "Regulation (EC) 1272/2008, Article 17(1)"),
    required(EU_UK, Element::HazardStatements, "Regulation (EC) 1272/2008, Article 17(1)"),
    required(EU_UK, Element::Precautions, "Regulation (EC) 1272/2008, Article 17(1)"),
    required(EU_UK, Element::FirmName, "Regulation (EC) 1272/2008, Article 17(1)"),
    required(EU_UK, Element::FirmAddress, "Regulation (EC) 1272/2008, Article 17(1)"),
    required(EU_UK, Element::FirmPhone, "Regulation (EC) 1272/2008, Article 17(1)"),
    required(CANADA, Element::Product, "Canada, SOR/86-304, s. 10.35(2)"),
    required(CANADA, Element::Signal, "Canada, SOR/86-304, s. 10.35(2)"),
    required(CANADA, Element::HazardStatements, "Canada, SOR/86-304, s. 10.35(2)"),
    required(CANADA, Element::Pictograms, "Canada, SOR/86-304, s. 10.35(2)"),
    required(CANADA, Element::Precautions, "Québec, S-2.1, r. 8.1, s. 7"),
    required(CANADA, Element::SheetAtHand, "Canada, SOR/86-304, s. 10.35(2)"),
    required(CANADA, Element::English, "Canada, SOR/2015-17, Part 6"),
    required(CANADA, Element::French, "Canada, SOR/2015-17, Part 6"),
    required(CALIFORNIA, Element::FirmName, "3 CCR 6678"),
    required(CALIFORNIA, Element::FirmAddress, "3 CCR 6678"),
    required(CALIFORNIA, Element::Product, "3 CCR 6678"),
    required(CALIFORNIA, Element::PesticideSignal, "3 CCR 6678"),
    advised(Element::Product, EPA),
    advised(Element::Registration, EPA),
    advised(Element::Actives, EPA),
    advised(Element::DilutedAsDirected, EPA),
    advised(Element::PesticideSignal, EPA),
    advised(Element::ChildWarning, EPA),
    advised(Element::FirmName, EPA),
    advised(Element::FirmAddress, EPA),
    advised(Element::FirmPhone, EPA),
];

impl Element {
    /// Where a label's data carries it. A language is not a field: its texts are all over the label.
    pub fn field(self) -> Option<&'static str> {
        Some(match self {
            Element::Product => "/product",
            Element::Signal => "/ghs/signal",
            Element::HazardStatements => "/ghs/hazards",
            Element::Pictograms => "/ghs/pictograms",
            Element::Precautions => "/ghs/precautions",
            Element::SheetAtHand => "/sheet_at_hand",
            Element::English | Element::French => return None,
            Element::FirmName => "/firm/name",
            Element::FirmAddress => "/firm/address",
            Element::FirmPhone => "/firm/phone",
            Element::PesticideSignal => "/pesticide/signal",
            Element::ChildWarning => "/pesticide/child",
            Element::DilutedAsDirected => "/pesticide/lines",
            Element::Registration => "/registration",
            Element::Actives => "/actives",
        })
    }

    /// The key of `optional` under which the template would leave it off.
    pub fn left_off_as(self) -> Option<&'static str> {
        Some(match self {
            Element::Precautions => "precautions",
            Element::FirmAddress => "firm-address",
            Element::PesticideSignal | Element::ChildWarning => "pesticide",
            Element::DilutedAsDirected => "pesticide-lines",
            Element::Registration => "registration",
            Element::Actives => "actives",
            _ => return None,
        })
    }

    /// Whether this label has it, or needs none.
    fn is_met(self, label: &Value, treatment: &TreatmentPlan, spoken: &[&Words]) -> bool {
        let speaks = |tag: &str, statements| spoken.iter().any(|w| w.language == tag && w.statements == statements);
        match self {
            Element::English => return speaks("en", Language::ENGLISH),
            Element::French => return speaks("fr", Language::FRENCH),
            // which of these there are follows from the classification, and a label that is classified has them all
            Element::Signal | Element::Pictograms | Element::Precautions => return true,
            Element::PesticideSignal if treatment.product.label_signal == Some(LabelSignal::Absent) => return true,
            _ => {}
        }
        match self.field().and_then(|field| label.pointer(field)) {
            None | Some(Value::Null) => false,
            Some(Value::String(text)) => !text.is_empty(),
            Some(Value::Array(items)) => !items.is_empty(),
            Some(_) => true,
        }
    }

    /// What is missing, where it is to be written, and what.
    fn remedy(self, product: &str) -> (String, Vec<String>, String) {
        let of_company = |key: &str| vec!["company".to_owned(), key.to_owned()];
        let of_product = |key: &str| vec!["products".to_owned(), product.to_owned(), key.to_owned()];
        let language = |name: &str| {
            let write = "write `languages: { labels: [en, fr] }` (or the other way round) in the company file or the job; \
                         `--language` prints one language alone";
            (format!("the words in {name}"), vec!["languages".to_owned()], write.to_owned())
        };
        match self {
            Element::English => {
                let write = "write English as one of the two languages, such as `languages: { labels: [en, es] }`, in the \
                             company file or the job";
                let (what, place, _) = language("English");
                (what, place, write.to_owned())
            }
            Element::French => language("French"),
            Element::FirmName => ("the firm's name".into(), of_company("name"), "write `name`".into()),
            Element::FirmAddress => ("the firm's address".into(), of_company("address"), "write `address`".into()),
            Element::FirmPhone => ("the firm's telephone number".into(), of_company("phone"), "write `phone`".into()),
            Element::PesticideSignal => (
                format!("the signal word of the label of `{product}`"),
                of_product("label_signal"),
                "write `label_signal: DANGER`, `WARNING` or `CAUTION` as the product's label has it, or `none` if it \
                 has none"
                    .into(),
            ),
            Element::Registration => (
                format!("the registration number of `{product}`"),
                of_product("registration"),
                "write `registration`".into(),
            ),
            other => (format!("{other:?} of `{product}`"), of_product("name"), "write it".into()),
        }
    }
}

/// The rows that rules have.
pub(super) fn rows(rules: &BTreeSet<Rules>) -> impl Iterator<Item = &'static Row> {
    TABLE.iter().filter(|row| rules.contains(&row.rules))
}

fn required_of(rules: &BTreeSet<Rules>) -> impl Iterator<Item = &'static Row> {
    rows(rules).filter(|row| row.duty == Duty::Required)
}

/// What may be left off a label that is too small for everything, first dropped first: nothing that the rules require.
/// Product, signal word, pictograms and hazard statements are in no such list: the template cannot leave them off. The
/// logo comes only where the rest leaves it room.
///
/// On a little bottle the words outrank the code, which could take a third of the label; on a larger label the code
/// takes a corner, and leads to the record when the words are wiped off.
pub(super) fn optional(class: SizeClass, rules: &BTreeSet<Rules>) -> Vec<&'static str> {
    let mut keys = vec![
        "logo",
        "kind",
        "captions",
        "contact-small",
        "dilution-small",
        "strength-small",
        "deference",
        "ghs-source",
        "lot",
    ];
    if !rules.contains(&Rules::Epa) {
        // where EPA's advice is not followed, what it names gives way to what the law of the country wants
        keys.extend(["registration", "pesticide-lines", "pesticide", "emergency"]);
    }
    if class == SizeClass::SmallBottle {
        keys.extend(["qr", "precautions", "pesticide-lines"]);
    } else {
        keys.extend(["precautions", "pesticide-lines", "qr"]);
    }
    let mut seen = BTreeSet::new();
    keys.retain(|key| seen.insert(*key));
    let kept: BTreeSet<&str> = required_of(rules).filter_map(|row| row.element.left_off_as()).collect();
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
    let spoken: Vec<&Words> =
        [Some(job.voice), job.second].into_iter().flatten().map(|v: &Voice<'_>| v.words).collect();
    let mut told = BTreeSet::new();
    let mut found = Vec::new();
    for row in required_of(rules) {
        if row.element.is_met(label, treatment, &spoken) || !told.insert(row.element) {
            continue;
        }
        let (what, place, write) = row.element.remedy(&treatment.product.key);
        let origin = place.iter().fold(job.job.catalog.source.root().origin(), |at, key| at.key(key));
        let message = format!("the label lacks {what}, which it must carry after {}", row.source);
        found.push(origin.error("label-element-missing", message).hint(write));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    const CLASSES: [SizeClass; 5] =
        [SizeClass::SmallBottle, SizeClass::LargeBottle, SizeClass::Tank, SizeClass::Tag, SizeClass::Drum];

    fn drops(class: SizeClass, regime: Regime, states: &[StateRule]) -> Vec<&'static str> {
        optional(class, &Rules::followed(regime, states))
    }

    fn names(rules: Rules) -> BTreeSet<Element> {
        TABLE.iter().filter(|row| row.rules == rules).map(|row| row.element).collect()
    }

    #[test]
    fn what_is_required_is_never_left_off() {
        for (_, regime) in Regime::WORDS {
            for class in CLASSES {
                let rules = Rules::followed(*regime, &[StateRule::California]);
                let may_go = optional(class, &rules);
                for row in required_of(&rules) {
                    let key = row.element.left_off_as().unwrap_or("none");
                    assert!(!may_go.contains(&key), "{regime:?} {class:?}: {:?}", row.element);
                }
            }
        }
    }

    /// 29 CFR 1910.1200(f)(6)(i) names the precautionary statements and (ii) does not.
    #[test]
    fn precautions_go_only_where_general_information_will_do() {
        for class in CLASSES {
            assert!(!drops(class, Regime::UnitedStates, &[]).contains(&"precautions"));
            assert!(drops(class, Regime::UnitedStatesGeneral, &[]).contains(&"precautions"));
        }
    }

    #[test]
    fn the_rows_are_those_of_the_rules() {
        use Element::{
            FirmAddress, FirmName, HazardStatements, PesticideSignal, Pictograms, Precautions, Product, SheetAtHand,
            Signal,
        };
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
        assert!(TABLE.iter().all(|row| !row.source.is_empty()));
    }

    #[test]
    fn states_add_to_the_united_states_alone() {
        let california = [StateRule::California];
        assert!(Rules::followed(Regime::UnitedStates, &california).contains(&CALIFORNIA));
        assert!(!Rules::followed(Regime::EuUk, &california).contains(&CALIFORNIA));
    }
}
