//! Properties of any mixture: order says nothing, and water takes findings away.

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::*;

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
