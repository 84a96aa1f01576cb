//! Hazards that one limit for the ingredient decides, each ingredient by itself or in a sum: the table `limits.csv`.

use std::sync::LazyLock;

use serde::Deserialize;

use super::super::RuleSet;
use super::super::hazard::{Class, Hazard};
use super::super::ingredient::{Figure, Ingredient};
use super::super::table::{optional_number, parsed};
use super::source::Source;
use super::{Findings, Note, Reason, SHARE};
use crate::quantity::{Number, built_in};

/// A row of the table: see its comments.
#[derive(Deserialize)]
struct Row {
    #[serde(deserialize_with = "parsed")]
    ingredient: Hazard,
    #[serde(deserialize_with = "parsed")]
    mixture: Hazard,
    #[serde(deserialize_with = "optional_number")]
    us_percent: Option<Number>,
    #[serde(deserialize_with = "optional_number")]
    eu_percent: Option<Number>,
    counts: String,
    us_rule: String,
    eu_rule: String,
    eu_read_in: String,
}

static LIMITS: LazyLock<Vec<Row>> = LazyLock::new(|| built_in(include_str!("limits.csv")));

impl Row {
    fn is_sum(&self) -> bool {
        self.counts != "each"
    }

    fn limit(&self, rules: RuleSet) -> Option<&Number> {
        match rules {
            RuleSet::UnitedStates => self.us_percent.as_ref(),
            RuleSet::EuUk => self.eu_percent.as_ref(),
        }
    }

    fn reason(&'static self, findings: &Findings<'_>, what: &'static str, value: Number, limit: &Number) -> Reason {
        let source = Source::new(&self.us_rule, &self.eu_rule, &self.eu_read_in);
        findings.reason(&source, what, value, limit.clone())
    }
}

/// Finds them, and in the EU the sensitisers that must be named below their limit.
pub fn find(findings: &mut Findings<'_>) {
    let (sums, each): (Vec<&Row>, Vec<&Row>) = LIMITS.iter().partition(|row| row.is_sum());
    let mut classes: Vec<Class> = each.iter().map(|row| row.ingredient.class()).collect();
    classes.dedup();
    for ingredient in findings.ingredients {
        for class in &classes {
            if let Some(stated) = ingredient.worst(*class) {
                let rows = each.iter().copied().filter(|row| row.ingredient == stated);
                by_ingredient(findings, ingredient, stated, rows);
            }
        }
    }
    for row in sums {
        by_sum(findings, row);
    }
}

fn by_ingredient(
    findings: &mut Findings<'_>,
    ingredient: &Ingredient,
    stated: Hazard,
    rows: impl Iterator<Item = &'static Row>,
) {
    let own = findings.by_specific_limit(ingredient, stated.class());
    for row in rows {
        let Some(limit) = row.limit(findings.rules) else { continue };
        // A specific limit written for a worse category alone leaves the generic one for the lesser standing.
        let goes_before =
            if row.mixture.covers(stated) { own } else { ingredient.limits.iter().any(|l| l.hazard == row.mixture) };
        if !goes_before {
            let reason = row.reason(findings, SHARE, ingredient.share.as_percent(), limit);
            findings.if_at_least(row.mixture, reason, [ingredient]);
        }
        if matches!(stated.class(), Class::RespiratorySensitiser | Class::SkinSensitiser) {
            elicitation(findings, ingredient, stated.class(), limit);
        }
    }
}

/// CLP Table 3.4.6, which was not read itself; the text of EUH210 (Annex II 2.10) was, and gives the same values: from a tenth of the
/// ingredient's limit it is named by EUH208.
fn elicitation(findings: &mut Findings<'_>, ingredient: &Ingredient, class: Class, generic: &Number) {
    let own = ingredient.lowest_limit(|hazard| hazard.class() == class);
    let limit = own.map_or_else(|| generic.clone(), |own| own.as_percent());
    let share = ingredient.share.as_percent();
    if findings.rules == RuleSet::EuUk && share < limit && share * &Number::int(10) >= limit {
        findings.notes.push(Note::MaySetOffAllergy { ingredient: ingredient.name.clone() });
    }
}

/// Each ingredient's share counts in full, or scaled where it has a limit of its own.
fn by_sum(findings: &mut Findings<'_>, row: &'static Row) {
    let Some(limit) = row.limit(findings.rules) else { return };
    let class = row.ingredient.class();
    let own = |ingredient: &Ingredient| ingredient.lowest_limit(|hazard| hazard.class() == class);
    let has = |i: &&Ingredient| i.has(class) && i.is_relevant(own(i).as_ref());
    let parts: Vec<&Ingredient> = findings.ingredients.iter().filter(has).collect();
    let sum: Number = parts.iter().map(|ingredient| ingredient.weighted(own(ingredient).as_ref(), limit)).sum();
    if parts.is_empty() || sum < *limit || (class == Class::Aspiration && is_thick(findings)) {
        return;
    }
    let reason = row.reason(findings, &row.counts, sum, limit);
    findings.add(row.mixture, reason, parts);
}

/// Whether the mixture is known to be too thick for an aspiration hazard: above 20.5 mm²/s at 40 °C (App. A.10.3.3, CLP 3.10.3.3).
fn is_thick(findings: &mut Findings<'_>) -> bool {
    let thick = |viscosity: &Number| *viscosity > Number::ratio(41, 2);
    match &findings.mixture.viscosity {
        Figure::Known(viscosity) => thick(viscosity),
        // The dilution is taken to be as the tested concentrate (A.10.3.2.1), but water makes thin: it must be measured.
        Figure::BeforeDilution(viscosity) if thick(viscosity) => {
            findings.notes.push(Note::ViscosityNeeded);
            true
        }
        Figure::BeforeDilution(_) => false,
        Figure::Unknown | Figure::NoneFound => {
            findings.notes.push(Note::ViscosityAssumedLow);
            false
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every hazard of the classes decided here has a limit in the EU's text, so that none is left out for want of a row.
    #[test]
    fn every_hazard_of_these_classes_has_a_row() {
        for hazard in Hazard::all().filter(|hazard| LIMITS.iter().any(|row| row.ingredient.class() == hazard.class())) {
            let own = LIMITS.iter().filter(|row| row.ingredient == hazard && row.mixture.covers(hazard));
            assert_eq!(own.filter(|row| row.us_percent.is_some() && row.eu_percent.is_some()).count(), 1, "{hazard}");
        }
        assert!(LIMITS.iter().all(|row| row.ingredient.class() == row.mixture.class()));
    }
}
