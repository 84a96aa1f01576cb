use std::collections::BTreeSet;

use proptest::prelude::*;

use super::*;
use crate::calc::built_in;
use crate::calc::testing::{n, ppm};

use FoodPlace::{Dairy, FoodProcessing, PublicEatingPlace};

const ADBAC_8001: &str = "8001-54-5";
const ADBAC_68424: &str = "68424-85-1";
const DDAC: &str = "7173-51-5";

fn findings(mix: &[(&str, &str)], place: FoodPlace, counted: CountedAs) -> Vec<Finding> {
    let strengths: Vec<Strength> = mix.iter().map(|(_, strength)| ppm(strength)).collect();
    let ingredients: Vec<Ingredient> =
        mix.iter().zip(&strengths).map(|((cas, _), strength)| Ingredient { cas, strength, counted }).collect();
    check(&ingredients, place)
}

fn passes(mix: &[(&str, &str)], place: FoodPlace) -> bool {
    findings(mix, place, CountedAs::TheLimitsMeasure).is_empty()
}

#[test]
fn what_is_over_is_named_once() {
    // 241 + 159 is within 400, and over the sub-limit of 240.
    let over = findings(&[(DDAC, "241"), (ADBAC_68424, "159")], PublicEatingPlace, CountedAs::Itself);
    assert!(matches!(&over[..], [Finding::Over { group: None, limit, .. }] if limit == &ppm("240")));
    // 240 + 161 is over the total.
    let over = findings(&[(DDAC, "240"), (ADBAC_68424, "161")], PublicEatingPlace, CountedAs::Itself);
    let total =
        |f: &Finding| matches!(f, Finding::Over { group: Some(Group::Quaternary), found, .. } if found == &ppm("401"));
    assert!(!over.is_empty() && over.iter().all(total));
}

#[test]
fn a_higher_limit_elsewhere_does_not_reach_a_restaurant() {
    assert!(passes(&[("7722-84-1", "1100")], FoodProcessing));
    let over = findings(&[("7722-84-1", "1100")], PublicEatingPlace, CountedAs::Itself);
    assert!(matches!(&over[..], [Finding::Over { list: List::A, limit, .. }] if limit == &ppm("91")));
    // Over every list: the one exceeded least is named.
    let over = findings(&[("7722-84-1", "1101")], FoodProcessing, CountedAs::Itself);
    assert!(matches!(&over[..], [Finding::Over { list: List::C, limit, .. }] if limit == &ppm("1100")));
}

#[test]
fn the_unstated_and_the_unlimited() {
    let unstated = findings(&[("53605-94-0", "1")], PublicEatingPlace, CountedAs::Itself);
    assert!(matches!(&unstated[..], [Finding::LimitNotStated { list: List::A, .. }]));
    let unlisted = findings(&[("50-00-0", "1"), ("7732-18-5", "998000")], FoodProcessing, CountedAs::Itself);
    assert_eq!(unlisted, [Finding::NotListed { cas: "50-00-0".to_owned() }]);
    // "None" in list (c) is no numeric limit.
    assert!(passes(&[("64-17-5", "700000")], FoodProcessing));
}

#[test]
fn lithium_has_its_own_limit() {
    // 200 ppm available chlorine of the salt holds 19.6 ppm of lithium; 30 ppm take 252 mg/L of the salt.
    assert!(passes(&[("13840-33-0", "200")], FoodProcessing));
    let over = findings(&[("13840-33-0", "260")], FoodProcessing, CountedAs::Itself);
    assert!(over.iter().any(|f| matches!(f, Finding::Over { substance, .. } if substance == "Lithium")));
    // Two lines of the salt count together.
    let both = findings(&[("13840-33-0", "150"), ("13840-33-0", "110")], FoodProcessing, CountedAs::Itself);
    assert!(both.iter().any(|f| matches!(f, Finding::Over { substance, .. } if substance == "Lithium")));
}

/// What the rows that name a substance allow of it alone at a place.
#[derive(Debug, PartialEq)]
enum Allowed {
    Most(Number),
    AnyStrength,
    NotStated,
    Nothing,
}

/// Of one list the lowest figure holds, of several lists the one that allows most.
fn allowed(cas: &str, place: FoodPlace) -> Allowed {
    let mut most = Allowed::Nothing;
    for list in place.lists() {
        let (mut figures, mut named, mut unlimited) = (Vec::new(), false, false);
        for row in rows().iter().filter(|row| row.list == *list && row.names(cas)) {
            named = true;
            unlimited |= row.stated == Stated::NoLimit;
            if let Stated::Limit(limit) = &row.stated {
                figures.push(limit.as_milligrams_per_litre().clone());
            }
            figures.extend(row.group.as_ref().map(|(_, limit)| limit.as_milligrams_per_litre().clone()));
        }
        most = match (most, figures.into_iter().min()) {
            (Allowed::AnyStrength, _) => Allowed::AnyStrength,
            (Allowed::Most(before), Some(now)) => Allowed::Most(before.max(now)),
            (_, Some(now)) => Allowed::Most(now),
            (_, None) if unlimited => Allowed::AnyStrength,
            (Allowed::Nothing, None) if named => Allowed::NotStated,
            (before, None) => before,
        };
    }
    most
}

#[test]
fn every_row_at_its_limit_and_just_above() {
    let mut tried = [0; 4];
    for place in [PublicEatingPlace, Dairy, FoodProcessing] {
        // Didecyl dimethyl ammonium chloride is named in (c), and described in (a), which allows more: see below.
        for cas in rows().iter().flat_map(|row| &row.cas).filter(|cas| *cas != DDAC) {
            let at = |strength: &Number| {
                let strength = Strength::milligrams_per_litre(strength.clone());
                let counted = CountedAs::TheLimitsMeasure;
                let strength = &strength;
                check(&[Ingredient { cas, strength, counted }], place)
            };
            match allowed(cas, place) {
                Allowed::Most(limit) => {
                    tried[0] += 1;
                    assert_eq!(at(&limit), [], "{cas} {place:?}");
                    let above = at(&(&limit + &n("0.001")));
                    assert!(!above.is_empty(), "{cas} {place:?}");
                    for finding in above {
                        let Finding::Over { limit: named, .. } = finding else {
                            panic!("{cas} {place:?}: {finding:?}");
                        };
                        assert_eq!(named.as_milligrams_per_litre(), &limit, "{cas} {place:?}");
                    }
                }
                Allowed::AnyStrength => {
                    tried[1] += 1;
                    assert_eq!(at(&n("1000000")), [], "{cas} {place:?}");
                }
                Allowed::NotStated => {
                    tried[2] += 1;
                    assert!(matches!(at(&n("0.001"))[..], [Finding::LimitNotStated { .. }]), "{cas}");
                }
                Allowed::Nothing => {
                    tried[3] += 1;
                    assert!(matches!(at(&n("0.001"))[..], [Finding::NotListed { .. }]), "{cas} {place:?}");
                }
            }
        }
    }
    // Each kind is met: figures, "None", blanks, and substances of (b) and (c) that a restaurant may not have.
    assert!(tried[0] > 2000 && tried[1..].iter().all(|count| *count > 10), "{tried:?}");
}

#[test]
fn mixtures_at_their_limits() {
    type Row = (String, String, String, String);
    let rows = built_in::<Row>(include_str!("../../../tests/reference/residue-limits.csv"));
    assert_eq!(rows.len(), 51);
    for (place, counted, mixture, note) in rows {
        let place = match place.as_str() {
            "restaurant" => PublicEatingPlace,
            "dairy" => Dairy,
            _ => FoodProcessing,
        };
        let counted = if counted == "itself" { CountedAs::Itself } else { CountedAs::TheLimitsMeasure };
        let mut mix: Vec<(&str, &str)> = mixture.split(" + ").map(|part| part.split_once(' ').unwrap()).collect();
        assert_eq!(findings(&mix, place, counted), [], "{mixture} {place:?}: {note}");
        let (cas, strength) = mix.pop().unwrap();
        let above = (n(strength) + n("0.1")).decimal(1);
        mix.push((cas, &above));
        assert!(!findings(&mix, place, counted).is_empty(), "{mix:?} {place:?}: {note}");
    }
    // (c) allows what (a) does not.
    assert!(!passes(&[(ADBAC_8001, "200"), (DDAC, "200")], PublicEatingPlace));
    assert!(!passes(&[("7647-15-6", "1")], PublicEatingPlace));
}

/// An ingredient before it borrows: CAS number, tenths of a ppm, how it is counted.
type Line = (String, i64, CountedAs);

/// Any substance of the tables, those that only a description covers, and some of none.
fn substance() -> impl Strategy<Value = String> {
    let grouped: Vec<String> = rows()
        .iter()
        .filter(|row| row.group.is_some() || row.measure != Measure::Itself)
        .flat_map(|row| row.cas.clone())
        .chain(["32426-11-2", "68424-95-3", "68391-01-5", "68956-79-6", "10049-04-4"].map(str::to_owned))
        .collect();
    let all: Vec<String> = rows().iter().flat_map(|row| row.cas.clone()).collect();
    prop_oneof![
        4 => prop::sample::select(grouped),
        2 => prop::sample::select(all),
        1 => Just("50-00-0".to_owned()),
    ]
}

fn mixture() -> impl Strategy<Value = Vec<Line>> {
    let counted = prop::sample::select(vec![CountedAs::Itself, CountedAs::TheLimitsMeasure]);
    prop::collection::vec((substance(), 0..4000i64, counted), 1..6)
}

fn place() -> impl Strategy<Value = FoodPlace> {
    prop::sample::select(vec![FoodPlace::PublicEatingPlace, FoodPlace::Dairy, FoodPlace::FoodProcessing])
}

/// The findings of a mixture with `parts` parts in all for each part of it, as a set; figures left out on request.
fn of(mixture: &[Line], place: FoodPlace, parts: i64, figures: bool) -> BTreeSet<String> {
    let strengths: Vec<Strength> = mixture
        .iter()
        .map(|(_, tenths, _)| Strength::milligrams_per_litre(Number::ratio(*tenths, 10 * parts)))
        .collect();
    let ingredients: Vec<Ingredient> = mixture
        .iter()
        .zip(&strengths)
        .map(|((cas, _, counted), strength)| Ingredient { cas, strength, counted: *counted })
        .collect();
    check(&ingredients, place)
        .into_iter()
        .map(|finding| match finding {
            Finding::Over { mut cas, substance, list, group, measure, limit, found } => {
                cas.sort();
                let found = figures.then_some(found);
                format!("{cas:?} {substance} {list:?} {group:?} {measure:?} {limit:?} {found:?}")
            }
            other => format!("{other:?}"),
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_order_of_ingredients_says_nothing(
        (mixture, shuffled) in mixture().prop_flat_map(|mixture| (Just(mixture.clone()), Just(mixture).prop_shuffle())),
        place in place(),
    ) {
        prop_assert_eq!(of(&mixture, place, 1, true), of(&shuffled, place, 1, true));
    }

    #[test]
    fn water_never_adds_a_finding(mixture in mixture(), place in place(), parts in 1..20i64) {
        let (before, after) = (of(&mixture, place, 1, false), of(&mixture, place, parts, false));
        prop_assert!(after.is_subset(&before), "{:?} beyond {:?}", after, before);
        let mut named = mixture.clone();
        named.push((WATER.to_owned(), 9_000_000, CountedAs::Itself));
        prop_assert_eq!(of(&named, place, 1, true), of(&mixture, place, 1, true));
    }

    #[test]
    fn what_a_restaurant_may_have_a_dairy_and_a_factory_may_too(mixture in mixture()) {
        // Each list that holds for a restaurant holds for a dairy, and so on: what is within there is within here.
        let clean = |place| of(&mixture, place, 1, false).is_empty();
        prop_assert!(!clean(FoodPlace::PublicEatingPlace) || clean(FoodPlace::Dairy));
        prop_assert!(!clean(FoodPlace::Dairy) || clean(FoodPlace::FoodProcessing));
    }
}
