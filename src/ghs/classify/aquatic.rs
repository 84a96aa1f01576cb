//! Hazards to the aquatic environment by summation: CLP Annex I 4.1.3.5. The sums for Acute 1, Chronic 1 and Chronic 2 stand likewise
//! in ADR 2017 2.2.9.1.10.4.6; those for Chronic 3 and 4 in the United Nations' worked example 4.1(a) (ST/SG/AC.10/C.4/2012/25). The
//! United States do not cover them.

use super::super::hazard::{Category, Class, Hazard};
use super::super::ingredient::Ingredient;
use super::{Findings, Note, Source, read_in};
use crate::quantity::Number;

/// A sum that gives the mixture a category from 25 % on.
struct Sum {
    gives: Hazard,
    what: &'static str,
    /// What the share of an ingredient is multiplied by, by its category from 1 to 4. 0: it is no part of the sum.
    weights: [i64; 4],
    /// Whether Category 1 is multiplied by its M-factor as well.
    with_m: bool,
}

const fn sum(class: Class, category: Category, what: &'static str, weights: [i64; 4], with_m: bool) -> Sum {
    Sum { gives: Hazard::of(class, category), what, weights, with_m }
}

/// CLP Tables 4.1.1 and 4.1.2, of each the first sum that is met. A mixture is given no Acute 2 or 3: the EU has none.
#[rustfmt::skip]
const TABLES: [(Source, &[Sum]); 2] = [
    (Source::same("CLP Annex I Table 4.1.1", read_in::THE_RULE), &[
        sum(Class::AquaticAcute, Category::One, "sum of M × Aquatic Acute 1", [1, 0, 0, 0], true),
    ]),
    (Source::same("CLP Annex I Table 4.1.2", read_in::THE_RULE), &[
        sum(Class::AquaticChronic, Category::One, "sum of M × Chronic 1", [1, 0, 0, 0], true),
        sum(Class::AquaticChronic, Category::Two, "10 × M × Chronic 1 + Chronic 2", [10, 1, 0, 0], true),
        sum(Class::AquaticChronic, Category::Three, "100 × M × Chronic 1 + 10 × Chronic 2 + Chronic 3", [100, 10, 1, 0], true),
        sum(Class::AquaticChronic, Category::Four, "sum of Chronic 1 to 4", [1, 1, 1, 1], false),
    ]),
];

struct Part<'i> {
    ingredient: &'i Ingredient,
    /// Its category's place among the weights.
    place: usize,
    m: Number,
}

pub fn find(findings: &mut Findings<'_>) {
    for (source, sums) in &TABLES {
        let parts = relevant(findings, sums[0].gives.class());
        for sum in *sums {
            let counted: Vec<&Part<'_>> = parts.iter().filter(|part| sum.weights[part.place] > 0).collect();
            let value = counted.iter().map(|part| part.counted_in(sum)).sum();
            let reason = findings.reason(source, sum.what, value, Number::int(25));
            if findings.if_at_least(sum.gives, reason, counted.iter().map(|part| part.ingredient)) {
                break;
            }
        }
    }
}

impl Part<'_> {
    fn counted_in(&self, sum: &Sum) -> Number {
        let plain = self.ingredient.share.as_percent() * &Number::int(sum.weights[self.place]);
        if sum.with_m { plain * &self.m } else { plain }
    }
}

/// Those of the class that count: from (0.1 / M) % for Category 1, from 1 % for the others (CLP 4.1.3.1). An M-factor that is not given is
/// taken from the other duration if that has one, else it is 1; either is noted.
fn relevant<'i>(findings: &mut Findings<'i>, class: Class) -> Vec<Part<'i>> {
    let mut all = Vec::new();
    for ingredient in findings.ingredients {
        let place = match ingredient.worst(class).map(Hazard::category) {
            None => continue,
            Some(Category::One) => 0,
            Some(Category::Two) => 1,
            Some(Category::Three) => 2,
            Some(_) => 3,
        };
        let (mut m, mut from) = (Number::one(), Number::one());
        if place == 0 {
            let (own, other) = match class {
                Class::AquaticAcute => (&ingredient.m_acute, &ingredient.m_chronic),
                _ => (&ingredient.m_chronic, &ingredient.m_acute),
            };
            if own.is_none() {
                findings.notes.push(Note::MFactorAssumed { ingredient: ingredient.name.clone() });
            }
            m = own.as_ref().or(other.as_ref()).cloned().unwrap_or(m);
            from = Number::ratio(1, 10) / &m;
        }
        if ingredient.share.as_percent() >= from {
            all.push(Part { ingredient, place, m });
        }
    }
    all
}
