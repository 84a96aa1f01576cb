//! Every limit of 40 CFR 180.940 at its figure and just above, and the limits that count a group.

use super::tests::{ADBAC_8001, ADBAC_68424, DDAC, findings, passes};
use super::*;
use crate::calc::testing::n;

use FoodPlace::{Dairy, FoodProcessing, PublicEatingPlace};

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
        for row in rows().iter().filter(|row| row.list == *list && row.cas.iter().any(|number| number == cas)) {
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

/// At the strengths given all is within the section; with a tenth of a ppm more of the last it is not.
#[track_caller]
fn bound(mix: &[(&str, &str)], place: FoodPlace) {
    assert!(passes(mix, place), "{mix:?} {place:?}");
    let mut more = mix.to_vec();
    let last = more.pop().unwrap();
    let above = (n(last.1) + n("0.1")).decimal(1);
    more.push((last.0, &above));
    assert!(!passes(&more, place), "{more:?} {place:?}");
}

#[test]
fn quaternaries_by_list() {
    // (a): 240 of the dialkyls; (c) has 200 for DDAC by its own number, and (a) holds for processing equipment too.
    bound(&[(DDAC, "240")], PublicEatingPlace);
    bound(&[(DDAC, "240")], FoodProcessing);
    // C12–C18 ethylbenzyl: (a) caps all quaternaries at 200; C12–C14: 400.
    bound(&[("68956-79-6", "200")], PublicEatingPlace);
    bound(&[("85409-23-0", "250"), ("68424-85-1", "150")], PublicEatingPlace);
    bound(&[("85409-23-0", "100"), ("68956-79-6", "100")], PublicEatingPlace);
    // The carbonate and the bicarbonate share 400.
    bound(&[("148788-55-0", "200"), ("148812-65-1", "200")], PublicEatingPlace);
    // Other numbers that fit the descriptions: dialkyls, then alkylbenzyls, which bring the cap of 200.
    for cas in ["32426-11-2", "5538-94-3", "68424-95-3"] {
        bound(&[(DDAC, "120"), (cas, "120")], PublicEatingPlace);
    }
    for cas in ["68391-01-5", "85409-22-9"] {
        bound(&[(cas, "200")], PublicEatingPlace);
        bound(&[(cas, "150"), (ADBAC_68424, "50")], PublicEatingPlace);
    }
    // (c): each up to its own figure, 400 in all.
    bound(&[(ADBAC_8001, "200"), ("68956-79-6", "200")], FoodProcessing);
    bound(&[("32426-11-2", "240"), (ADBAC_8001, "160")], FoodProcessing);
    bound(&[(ADBAC_8001, "150"), ("68956-79-6", "150"), ("32426-11-2", "100")], FoodProcessing);
    // 68424-85-1 fits the description of 8001-54-5 in (c) and shares its 200.
    bound(&[(ADBAC_8001, "100"), (ADBAC_68424, "100")], FoodProcessing);
}

#[test]
fn chlorine_chemicals_by_list() {
    for (one, other) in [
        ("7778-54-3", "7778-66-7"),
        ("7681-52-9", "7778-54-3"),
        ("13840-33-0", "7681-52-9"),
        // In (a) only, and counted where the others are.
        ("7790-92-3", "7778-54-3"),
    ] {
        bound(&[(one, "100"), (other, "100")], FoodProcessing);
        bound(&[(other, "150"), (one, "50")], FoodProcessing);
    }
    // Di- and trichloroisocyanuric chemicals: 100 together; trichloromelamine alone 200.
    bound(&[("2782-57-2", "50"), ("2244-21-5", "50")], FoodProcessing);
    bound(&[("87-90-1", "60"), ("2893-78-9", "40")], FoodProcessing);
    bound(&[("7673-09-8", "90"), ("2893-78-9", "10")], FoodProcessing);
    bound(&[("7673-09-8", "200")], FoodProcessing);
    // The salt itself: 155 mg/L is 99.93 ppm available chlorine, 156 is 100.6.
    assert!(findings(&[("2893-78-9", "155")], PublicEatingPlace, CountedAs::Itself).is_empty());
    assert!(!findings(&[("2893-78-9", "156")], PublicEatingPlace, CountedAs::Itself).is_empty());
}

#[test]
fn iodides_and_bromides_count_together() {
    for place in [PublicEatingPlace, Dairy, FoodProcessing] {
        bound(&[("7553-56-2", "12.5"), ("7681-11-0", "12.5")], place);
    }
    bound(&[("10034-85-2", "12.5"), ("7553-56-2", "12.5")], Dairy);
    bound(&[("7681-82-5", "12.5"), ("7553-56-2", "12.5")], FoodProcessing);
    // Potassium bromide has 46 ppm in (a), where sodium bromide is not; (c) has 200 for both together.
    bound(&[("7758-02-3", "46")], PublicEatingPlace);
    assert!(!passes(&[("7647-15-6", "1")], PublicEatingPlace));
    bound(&[("7647-15-6", "100"), ("7758-02-3", "100")], FoodProcessing);
    // The salts themselves, mg/L: the last that is within, the first that is over.
    for (cas, place, within, over) in [
        ("7681-11-0", PublicEatingPlace, "32.7", "32.8"), // KI, 76.4 % iodine
        ("7681-82-5", FoodProcessing, "29.5", "29.6"),    // NaI, 84.7 %
        ("10034-85-2", Dairy, "25.1", "25.2"),            // HI, 99.2 %
        ("7758-02-3", PublicEatingPlace, "34.2", "34.3"), // KBr, Br₂ 134.3 %
        ("7647-15-6", FoodProcessing, "128.7", "128.8"),  // NaBr, Br₂ 155.3 %
    ] {
        assert!(findings(&[(cas, within)], place, CountedAs::Itself).is_empty(), "{cas} {within}");
        assert!(!findings(&[(cas, over)], place, CountedAs::Itself).is_empty(), "{cas} {over}");
    }
}
