use super::*;
use crate::calc::testing::{n, ppm};

pub(super) const ADBAC_8001: &str = "8001-54-5";
pub(super) const ADBAC_68424: &str = "68424-85-1";
pub(super) const DDAC: &str = "7173-51-5";

pub(super) fn findings(mix: &[(&str, &str)], place: FoodPlace, counted: CountedAs) -> Vec<Finding> {
    let strengths: Vec<Strength> = mix.iter().map(|(_, strength)| ppm(strength)).collect();
    let ingredients: Vec<Ingredient> =
        mix.iter().zip(&strengths).map(|((cas, _), strength)| Ingredient { cas, strength, counted }).collect();
    check(&ingredients, place)
}

pub(super) fn passes(mix: &[(&str, &str)], place: FoodPlace) -> bool {
    findings(mix, place, CountedAs::TheLimitsMeasure).is_empty()
}

use FoodPlace::{Dairy, FoodProcessing, PublicEatingPlace};

#[test]
fn boundaries_of_single_substances() {
    // 40 CFR 180.940: at the limit passes, a tenth of a ppm over it fails.
    for (cas, place, limit) in [
        ("7722-84-1", PublicEatingPlace, "91"),
        ("7722-84-1", Dairy, "465"),
        ("7722-84-1", FoodProcessing, "1100"),
        ("79-21-0", PublicEatingPlace, "58"),
        ("79-21-0", Dairy, "315"),
        ("79-21-0", FoodProcessing, "315"),
        ("33734-57-5", PublicEatingPlace, "52"),
        ("33734-57-5", FoodProcessing, "122"),
        ("124-07-2", Dairy, "176"),
        ("124-07-2", FoodProcessing, "234"),
        ("7681-52-9", PublicEatingPlace, "200"),
        ("7681-52-9", FoodProcessing, "200"),
        ("7790-92-3", PublicEatingPlace, "200"),
        ("7778-54-3", FoodProcessing, "200"),
        ("2893-78-9", PublicEatingPlace, "100"),
        ("2893-78-9", FoodProcessing, "100"),
        ("51580-86-0", FoodProcessing, "100"),
        ("7673-09-8", FoodProcessing, "200"),
        ("7553-56-2", PublicEatingPlace, "25"),
        ("7553-56-2", FoodProcessing, "25"),
        ("7647-15-6", FoodProcessing, "200"),
        ("14701-21-4", PublicEatingPlace, "50"),
        ("10049-04-4", Dairy, "200"),
        (ADBAC_8001, PublicEatingPlace, "200"),
        (ADBAC_68424, PublicEatingPlace, "400"),
        ("85409-23-0", PublicEatingPlace, "400"),
        ("148788-55-0", PublicEatingPlace, "400"),
        (DDAC, PublicEatingPlace, "240"),
    ] {
        let above = n(limit) + n("0.1");
        assert!(passes(&[(cas, limit)], place), "{cas} {limit} {place:?}");
        assert!(!passes(&[(cas, &above.decimal(1))], place), "{cas} {above} {place:?}");
    }
}

#[test]
fn blends_of_quaternaries() {
    assert!(passes(&[(DDAC, "240"), (ADBAC_68424, "160")], PublicEatingPlace));
    // 241 + 159 is within 400, and over the sub-limit of 240.
    let over = findings(&[(DDAC, "241"), (ADBAC_68424, "159")], PublicEatingPlace, CountedAs::Itself);
    assert_eq!(over.len(), 1);
    assert!(matches!(&over[0], Finding::Over { group: None, limit, .. } if limit == &ppm("240")));
    // 240 + 161 is over the total, said once.
    let over = findings(&[(DDAC, "240"), (ADBAC_68424, "161")], PublicEatingPlace, CountedAs::Itself);
    let totals: Vec<&Finding> = over
        .iter()
        .filter(|f| matches!(f, Finding::Over { group: Some(Group::Quaternary), found, .. } if found == &ppm("401")))
        .collect();
    assert!(!totals.is_empty() && totals.len() == over.len());
    // 8001-54-5 brings its cap of 200 for all quaternaries.
    assert!(!passes(&[(ADBAC_8001, "100"), (ADBAC_68424, "101")], PublicEatingPlace));
    assert!(passes(&[(ADBAC_8001, "100"), (ADBAC_68424, "100")], PublicEatingPlace));
    // Two of the dialkyl compounds share the 240.
    assert!(passes(&[(DDAC, "140"), ("32426-11-2", "100")], PublicEatingPlace));
    assert!(!passes(&[(DDAC, "140"), ("32426-11-2", "101")], PublicEatingPlace));
    // The carbonate has no group cap of its own, and counts in those of the others.
    assert!(!passes(&[("148788-55-0", "300"), (ADBAC_68424, "101")], PublicEatingPlace));
    // List (c): 8001-54-5 up to 200 within 400 in all, which list (a) does not allow.
    assert!(passes(&[(ADBAC_8001, "200"), (DDAC, "200")], FoodProcessing));
    assert!(!passes(&[(ADBAC_8001, "200"), (DDAC, "200")], PublicEatingPlace));
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
fn hypochlorous_chemicals_count_together_as_available_chlorine() {
    assert!(!passes(&[("7681-52-9", "101"), ("7790-92-3", "100")], PublicEatingPlace));
    assert!(passes(&[("7681-52-9", "100"), ("7790-92-3", "100")], PublicEatingPlace));
    // 209.9 mg/L of NaOCl itself is 199.93 ppm available; 210 is 200.02.
    assert!(findings(&[("7681-52-9", "209.9")], PublicEatingPlace, CountedAs::Itself).is_empty());
    assert!(!findings(&[("7681-52-9", "210")], PublicEatingPlace, CountedAs::Itself).is_empty());
    // Isocyanurates are another group.
    assert!(passes(&[("7681-52-9", "200"), ("2893-78-9", "100")], PublicEatingPlace));
}

#[test]
fn the_lower_of_two_rows_and_the_unstated() {
    // Octanoic acid stands in (a) with 52 and with 100 ppm.
    assert!(passes(&[("124-07-2", "52")], PublicEatingPlace));
    assert!(!passes(&[("124-07-2", "53")], PublicEatingPlace));
    // 1-Undecanol stands once with a use word, once with 100 ppm.
    assert!(passes(&[("112-42-5", "100")], PublicEatingPlace));
    assert!(!passes(&[("112-42-5", "101")], PublicEatingPlace));
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
