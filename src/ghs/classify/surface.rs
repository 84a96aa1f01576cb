//! Skin corrosion and irritation, serious eye damage and eye irritation: 29 CFR 1910.1200 App. A.2.3 and A.3.3, CLP Annex I 3.2.3 and 3.3.3.
//!
//! Each ingredient counts for its share over its limit, and a mixture is classified where these add up to 1. With the generic limits
//! (5 % of corrosives towards Skin Corr. 1, 3 % of what damages the eye towards Eye Dam. 1; 1 % of these and 10 % of irritants towards
//! Category 2) this is Tables A.2.3 and A.3.3 to the letter, the weighted sums 10 × Category 1 + Category 2 included; a specific limit takes
//! the generic one's place in the sum. A skin corrosive counts as a cause of serious eye damage; an ingredient that is both counts once.
//!
//! The figures were read in the United States' text. Of the EU's, Table 3.2.3 was read in the European Chemicals Agency's helpdesk
//! exercises of 2012; its sub-categories and Tables 3.2.4, 3.3.3 and 3.3.4 could not be read; they are taken to be those of the United
//! States, and their reasons say so.

use super::super::RuleSet;
use super::super::hazard::{Category, Class, Hazard};
use super::super::ingredient::{Additivity, Figure, Ingredient};
use super::{Findings, Note, Reason, Source, read_in};
use crate::quantity::{Number, Share};

/// Skin or eye: what the two differ in.
struct Surface {
    class: Class,
    /// The mixture's Category 1, undivided.
    strong: Hazard,
    /// From how many per cent on strong ingredients give it.
    strong_from: i64,
    is_strong: fn(&Ingredient) -> bool,
    /// The ingredient's own limit towards Category 1 in the step of the sum.
    strong_limit: fn(&Ingredient, &Step) -> Option<Share>,
    /// Its own limit towards Category 2.
    mild_limit: fn(&Ingredient) -> Option<Share>,
    mild_sum: &'static str,
    /// What counts by itself, where additivity does not apply: strong and mild.
    alone: [&'static str; 2],
    ph_rule: Source,
    sum_rule: Source,
    alone_rule: Source,
}

/// One step of the sum towards Category 1.
struct Step {
    hazard: Hazard,
    what: &'static str,
    rule: &'static Source,
    /// Which of an ingredient's hazards count.
    counts: fn(Hazard) -> bool,
}

static SKIN: Surface = Surface {
    class: Class::Skin,
    strong: CORROSIVE,
    strong_from: 5,
    is_strong: Ingredient::burns_skin,
    strong_limit: |ingredient, step| ingredient.lowest_limit(step.counts),
    mild_limit: |ingredient| ingredient.lowest_limit(|hazard| hazard.class() == Class::Skin),
    mild_sum: "10 × skin corrosives + skin irritants",
    alone: ["corrosive ingredient that does not add up", "irritant ingredient that does not add up"],
    ph_rule: Source::new("29 CFR 1910.1200 App. A.2.3.1.3", "CLP Annex I 3.2.3.1.2", read_in::THE_RULE),
    sum_rule: Source::new("29 CFR 1910.1200 App. A Table A.2.3", "CLP Annex I Table 3.2.3", read_in::THE_RULE),
    alone_rule: Source::new(
        "29 CFR 1910.1200 App. A Table A.2.4",
        "CLP Annex I Table 3.2.4",
        read_in::UNITED_STATES_TWIN,
    ),
};

/// Table A.3.4 prints a pH below 2 for an acid, Table A.2.4 one of 2 or less; 2 is counted in both, on the side that protects.
static EYE: Surface = Surface {
    class: Class::Eye,
    strong: DAMAGE,
    strong_from: 3,
    is_strong: damages_eye,
    strong_limit: |ingredient, _| damage_limit(ingredient),
    mild_limit: eye_irritation_limit,
    mild_sum: "10 × (skin corrosives and eye damaging ingredients) + eye irritants",
    alone: ["eye damaging ingredient that does not add up", "eye irritant ingredient that does not add up"],
    ph_rule: Source::new("29 CFR 1910.1200 App. A.3.3.1.2", "CLP Annex I 3.3.3.1.2", read_in::REPRINT),
    sum_rule: Source::new(
        "29 CFR 1910.1200 App. A Table A.3.3",
        "CLP Annex I Table 3.3.3",
        read_in::UNITED_STATES_TWIN,
    ),
    alone_rule: Source::new(
        "29 CFR 1910.1200 App. A Table A.3.4",
        "CLP Annex I Table 3.3.4",
        read_in::UNITED_STATES_TWIN,
    ),
};

const CORROSIVE: Hazard = Hazard::of(Class::Skin, Category::One);
const DAMAGE: Hazard = Hazard::of(Class::Eye, Category::One);

static SUBCATEGORY_RULE: Source =
    Source::new("29 CFR 1910.1200 App. A Table A.2.3", "CLP Annex I Table 3.2.3", read_in::UNITED_STATES_TWIN);

static EYE_STEPS: [Step; 1] = [Step {
    hazard: DAMAGE,
    what: "sum of skin corrosives and eye damaging ingredients",
    rule: &EYE.sum_rule,
    counts: |hazard| hazard == DAMAGE || hazard.burns_skin(),
}];

static SKIN_STEPS: [Step; 1] =
    [Step { hazard: CORROSIVE, what: "sum of skin corrosives", rule: &SKIN.sum_rule, counts: Hazard::burns_skin }];

/// Note to Table A.2.3, where every corrosive has its subcategory: 1A by itself, else 1A and 1B, else all.
static SUBCATEGORIES: [Step; 3] = [
    Step {
        hazard: Hazard::of(Class::Skin, Category::OneA),
        what: "sum of skin corrosives 1A",
        rule: &SUBCATEGORY_RULE,
        counts: |hazard| hazard.burns_skin() && hazard.category() == Category::OneA,
    },
    Step {
        hazard: Hazard::of(Class::Skin, Category::OneB),
        what: "sum of skin corrosives 1A and 1B",
        rule: &SUBCATEGORY_RULE,
        counts: |hazard| hazard.burns_skin() && matches!(hazard.category(), Category::OneA | Category::OneB),
    },
    Step {
        hazard: Hazard::of(Class::Skin, Category::OneC),
        what: "sum of skin corrosives 1A, 1B and 1C",
        rule: &SUBCATEGORY_RULE,
        counts: Hazard::burns_skin,
    },
];

fn damages_eye(ingredient: &Ingredient) -> bool {
    ingredient.worst(Class::Eye) == Some(DAMAGE) || ingredient.burns_skin()
}

/// The ingredient's own limit towards eye damage. A limit for skin corrosion is one too: what burns the skin damages the eye. The generic
/// 3 % still holds for the eye where only the skin's is written, unless that is lower.
fn damage_limit(ingredient: &Ingredient) -> Option<Share> {
    let eye = ingredient.lowest_limit(|hazard| hazard == DAMAGE);
    let skin = ingredient.lowest_limit(Hazard::burns_skin);
    let generic = (eye.is_none() && skin.is_some()).then(|| percent(EYE.strong_from));
    [eye, skin, generic].into_iter().flatten().min()
}

/// Its own limit towards eye irritation: as written, or from where it damages the eye. Where no limit for irritation is written the generic
/// one holds, unless damage begins lower.
fn eye_irritation_limit(ingredient: &Ingredient) -> Option<Share> {
    let irritates = ingredient.lowest_limit(|hazard| hazard.class() == Class::Eye && hazard != DAMAGE);
    let damages = damage_limit(ingredient);
    let generic = if damages_eye(ingredient) { 1 } else { 10 };
    let generic = (irritates.is_none() && damages.is_some()).then(|| percent(generic));
    [irritates, damages, generic].into_iter().flatten().min()
}

fn percent(value: i64) -> Share {
    Share::percent(Number::int(value))
}

/// The most acid and the least alkaline pH of which a mixture is corrosive in the absence of other information (A.2.3.1.3, CLP 3.2.3.1.2).
fn ph_limits() -> [Number; 2] {
    [Number::int(2), Number::ratio(23, 2)]
}

fn is_extreme(ph: &Number) -> bool {
    let [acid, base] = ph_limits();
    *ph <= acid || *ph >= base
}

/// An acid of pH 2 or less or a base of 11.5 or more to which additivity does not apply.
fn is_extreme_alone(ingredient: &Ingredient) -> bool {
    let [acid, base] = ph_limits();
    match (ingredient.additivity, &ingredient.ph) {
        (Additivity::Acid, Some(ph)) => *ph <= acid,
        (Additivity::Base, Some(ph)) => *ph >= base,
        _ => false,
    }
}

/// Whether it counts by itself. Additivity is said not to apply; or it is a corrosive of extreme pH, for which that is in doubt and the
/// United Nations' worked example (3.2.3.3.4) takes the side that protects.
fn stands_alone(ingredient: &Ingredient) -> bool {
    let extreme = ingredient.ph.as_ref().is_some_and(is_extreme);
    ingredient.additivity != Additivity::Additive || (ingredient.burns_skin() && extreme)
}

pub fn find(findings: &mut Findings<'_>) {
    for surface in [&SKIN, &EYE] {
        surface.by_ph(findings);
        let relevant = |i: &&Ingredient| {
            (surface.adds_up(i) || is_extreme_alone(i)) && i.is_relevant((surface.mild_limit)(i).as_ref())
        };
        let relevant: Vec<&Ingredient> = findings.ingredients.iter().filter(relevant).collect();
        surface.strong_by_sum(findings, &relevant);
        surface.mild_by_sum(findings, &relevant);
        surface.alone(findings, &relevant);
    }
}

impl Surface {
    fn adds_up(&self, ingredient: &Ingredient) -> bool {
        ingredient.has(self.class) || (self.is_strong)(ingredient)
    }

    /// Category 2 as the rule set names it. Of the eye: 2A in the United States, or 2B where every relevant irritant is 2B; plain 2 in the
    /// EU, which has no 2B and so counts it as 2.
    fn mild(&self, rules: RuleSet, relevant: &[&Ingredient]) -> Hazard {
        let two_b = Some(Hazard::of(Class::Eye, Category::TwoB));
        let is_two_b = |i: &&Ingredient| i.worst(Class::Eye) == two_b && !damages_eye(i);
        let category = match (self.class, rules) {
            (Class::Skin, _) | (_, RuleSet::EuUk) => Category::Two,
            _ if relevant.iter().all(is_two_b) => Category::TwoB,
            _ => Category::TwoA,
        };
        Hazard::of(self.class, category)
    }

    fn by_ph(&self, findings: &mut Findings<'_>) {
        match &findings.mixture.ph {
            Figure::Known(ph) if is_extreme(ph) => {
                let [acid, base] = ph_limits();
                let (what, threshold) = if *ph <= acid {
                    ("pH of the mixture, at most", acid)
                } else {
                    ("pH of the mixture, at least", base)
                };
                let reason = findings.reason(&self.ph_rule, what, ph.clone(), threshold);
                findings.add(self.strong, Reason { unit: "pH", ..reason }, []);
            }
            Figure::BeforeDilution(ph) if is_extreme(ph) => findings.notes.push(Note::PhNeeded),
            _ => {}
        }
    }

    fn strong_by_sum(&self, findings: &mut Findings<'_>, relevant: &[&Ingredient]) {
        let strong: Vec<&Ingredient> = relevant.iter().copied().filter(|i| (self.is_strong)(i)).collect();
        let steps: &[Step] = match self.class {
            Class::Eye => &EYE_STEPS,
            _ if strong.iter().any(|i| i.worst(Class::Skin) == Some(CORROSIVE)) => &SKIN_STEPS,
            _ => &SUBCATEGORIES,
        };
        let limit = Number::int(self.strong_from);
        for step in steps {
            let parts: Vec<&Ingredient> = strong.iter().copied().filter(|i| i.all_hazards().any(step.counts)).collect();
            let sum = parts.iter().map(|i| i.weighted((self.strong_limit)(i, step).as_ref(), &limit)).sum();
            let reason = findings.reason(step.rule, step.what, sum, limit.clone());
            if findings.if_at_least(step.hazard, reason, parts) {
                return;
            }
        }
    }

    fn mild_by_sum(&self, findings: &mut Findings<'_>, relevant: &[&Ingredient]) {
        let ten = Number::int(10);
        let parts: Vec<&Ingredient> = relevant.iter().copied().filter(|i| self.adds_up(i)).collect();
        let mut sum = Number::zero();
        for ingredient in &parts {
            let own = (self.mild_limit)(ingredient);
            let counted = ingredient.weighted(own.as_ref(), &ten);
            // The generic limit of a strong one towards Category 2 is 1 %, a tenth of an irritant's.
            let tenfold = own.is_none() && (self.is_strong)(ingredient);
            sum += &(if tenfold { counted * &ten } else { counted });
        }
        let reason = findings.reason(&self.sum_rule, self.mild_sum, sum, ten);
        findings.if_at_least(self.mild(findings.rules, relevant), reason, parts);
    }

    /// Tables A.2.4 and A.3.4: each ingredient to which additivity does not apply, by itself. A specific limit goes before it. The mixture
    /// takes Category 1 undivided, as the tables do.
    fn alone(&self, findings: &mut Findings<'_>, relevant: &[&Ingredient]) {
        for &ingredient in relevant.iter().filter(|i| stands_alone(i) && (self.mild_limit)(i).is_none()) {
            let [strong, mild] = self.alone;
            let (hazard, what, threshold) = if is_extreme_alone(ingredient) || (self.is_strong)(ingredient) {
                (self.strong, strong, 1)
            } else {
                (self.mild(findings.rules, &[ingredient]), mild, 3)
            };
            let share = ingredient.share.as_percent();
            let reason = findings.reason(&self.alone_rule, what, share, Number::int(threshold));
            findings.if_at_least(hazard, reason, [ingredient]);
        }
    }
}
