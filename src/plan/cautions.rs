//! The cautions that one treatment calls for.

use super::{Caution, Fact, HazardSource, Residue, TreatmentPlan, WetnessBasis, hazards};
use crate::calc::coverage;
use crate::calc::food_contact::{Finding, FoodPlace};
use crate::calc::food_contact_limits::List;
use crate::catalog::{Airborne, Method, ProductKind};
use crate::ghs::Hazard;
use crate::job::{Job, Treatment};
use crate::quantity::{Film, Length, Number, Share};

/// Everything to watch for in a treatment.
pub(super) fn cautions(written: &Treatment, plan: &TreatmentPlan, job: &Job) -> Vec<Caution> {
    let mut all = Cautions { number: plan.number, list: Vec::new() };
    chemistry(written, plan, &mut all);
    all.list.extend(super::dose_cautions::cautions(plan));
    strength(plan, &mut all);
    food(plan, &mut all);
    all.list.extend(super::food_code::cautions(plan.number, written, &job.site, &plan.strength));
    wetness(written, plan, &mut all);
    air(plan, &mut all);
    hazards_shown(plan, &mut all);
    lots(written, job, &mut all);
    all.list.extend(super::file_facts::cautions(written, plan));
    all.list
}

struct Cautions {
    number: usize,
    list: Vec<Caution>,
}

impl Cautions {
    fn add<const N: usize>(&mut self, code: &'static str, facts: [(&'static str, Fact); N]) {
        let caution = Caution::new(code, Some(self.number));
        self.list.push(facts.into_iter().fold(caution, |c, (name, fact)| c.with(name, fact)));
    }
}

fn chemistry(written: &Treatment, plan: &TreatmentPlan, all: &mut Cautions) {
    droplets(plan, all);
    if !plan.product.never_with.is_empty() {
        let others = plan.product.never_with.iter().map(Fact::text).collect();
        all.add("never-with", [("others", Fact::List(others))]);
    }
    if let (Some(wanted), Some(flow), Some(pace)) =
        (&written.directions.coverage, &written.sprayer.flow, &written.sprayer.pace)
        && let Ok(laid) = coverage::film_from_pace(flow, &pace.speed, &pace.swath)
        && laid < *wanted
    {
        let facts = [("laid", Fact::Coverage(laid)), ("wanted", Fact::Coverage(wanted.clone()))];
        all.add("pace-too-fast", facts);
    }
    if written.directions.coverage.is_none() {
        all.add("no-coverage", [("film", Fact::Coverage(plan.film.clone()))]);
    }
}

/// What a spray that is breathed in asks for, and why it is one.
fn droplets(plan: &TreatmentPlan, all: &mut Cautions) {
    let Some(airborne) = plan.sprayer.airborne() else {
        return;
    };
    all.add("respirator", []);
    if let (Airborne::ByDroplet, Some(droplet)) = (airborne, &plan.sprayer.droplet) {
        let facts = [("sprayer", Fact::text(&plan.sprayer.name)), ("droplet", Fact::Micrometres(droplet.clone()))];
        all.add("fine-droplets", facts);
    }
    if plan.sprayer.method == Method::Electrostatic {
        all.add("electrostatic", []);
        if plan.sprayer.droplet.is_none() {
            all.add("electrostatic-droplet-unknown", [("sprayer", Fact::text(&plan.sprayer.name))]);
        }
    }
}

fn strength(plan: &TreatmentPlan, all: &mut Cautions) {
    let strength = &plan.strength;
    if let Some(stated) = &strength.stated {
        let apart = stated.as_milligrams_per_litre() - strength.label.as_milligrams_per_litre();
        let apart = Share::of_one(apart.abs() / stated.as_milligrams_per_litre());
        if *apart.as_of_one() > Number::ratio(1, 10) {
            let facts = [
                ("stated", Fact::Strength(stated.clone())),
                ("computed", Fact::Strength(strength.label.clone())),
                ("percent", Fact::Share(apart)),
            ];
            all.add("strength-differs", facts);
        }
    }
    match &plan.strip {
        None => all.add("strip-missing", [("product", Fact::text(&plan.product.name))]),
        Some(strip) if strip.off_scale => {
            all.add("strip-off-scale", [("strength", Fact::Strength(strength.mixed.clone()))]);
        }
        Some(strip) if strip.cannot_show => {
            all.add("strip-cannot-show", [("strength", Fact::Strength(strength.label.clone()))]);
        }
        Some(_) => {}
    }
}

fn food(plan: &TreatmentPlan, all: &mut Cautions) {
    let Some(rinse) = &plan.rinse else { return };
    if plan.residue.is_some() {
        let with = rinse.with.as_ref().map_or_else(|| Fact::Word("potable_water".into()), Fact::text);
        all.add("rinse", [("rinse", with)]);
    }
    let Some(residue) = &plan.residue else { return };
    for finding in &residue.findings {
        // Of several limits for the same ingredients the lowest says it all.
        if residue.findings.iter().any(|other| is_stricter(other, finding)) {
            continue;
        }
        match finding {
            Finding::Over { cas, limit, found, list, .. } => {
                let names = cas.iter().map(|cas| Fact::text(name_of(plan, cas))).collect();
                let facts = [
                    ("substance", Fact::List(names)),
                    ("limit", Fact::Strength(limit.clone())),
                    ("found", Fact::Strength(found.clone())),
                    ("list", Fact::text(paragraph(*list))),
                ];
                all.add("residue-over", facts);
            }
            Finding::NotListed { cas } | Finding::LimitNotStated { cas, .. } => not_listed(plan, residue, cas, all),
        }
    }
    for name in &residue.unnumbered {
        not_listed(plan, residue, name, all);
    }
}

/// A millilitre on a square metre is a micrometre thick.
fn thickness(film: &Film) -> Fact {
    let millionth = Number::ratio(1, 1_000_000);
    Fact::Micrometres(Length::metres(film.as_millilitres_per_square_metre() * &millionth))
}

/// The paragraph of the section that a list stands in.
fn paragraph(list: List) -> &'static str {
    match list {
        List::A => "(a)",
        List::B => "(b)",
        List::C => "(c)",
    }
}

/// The product's own name for a CAS number.
fn name_of<'a>(plan: &'a TreatmentPlan, cas: &'a str) -> &'a str {
    let active = plan.strength.actives.iter().find(|a| a.cas.as_deref() == Some(cas));
    active.map_or(cas, |a| a.name.as_str())
}

/// Whether one finding is about the same ingredients as another and a lower limit.
fn is_stricter(one: &Finding, other: &Finding) -> bool {
    let over = |finding: &Finding| match finding {
        Finding::Over { cas, limit, .. } => Some((cas.clone(), limit.clone())),
        _ => None,
    };
    match (over(one), over(other)) {
        (Some((a, low)), Some((b, high))) => a == b && low < high,
        _ => false,
    }
}

/// `who` is a CAS number, or the name of an ingredient that has none.
fn not_listed(plan: &TreatmentPlan, residue: &Residue, who: &str, all: &mut Cautions) {
    let place = match residue.place {
        FoodPlace::PublicEatingPlace => "eating-place",
        FoodPlace::Dairy => "dairy",
        FoodPlace::FoodProcessing => "processing",
    };
    let facts = [("substance", Fact::text(name_of(plan, who))), ("place", Fact::Word(format!("food_places.{place}")))];
    all.add("residue-not-listed", facts);
}

fn wetness(written: &Treatment, plan: &TreatmentPlan, all: &mut Cautions) {
    let contact = || Fact::Time(plan.directions.contact_time.clone());
    match &plan.wetness {
        Some(wetness) => {
            let applications = || Fact::Count(Number::int(i64::from(wetness.applications)));
            match (&wetness.every, &wetness.dries_after) {
                (Some(every), Some(dries)) => {
                    let code = match wetness.basis {
                        WetnessBasis::Estimate => "rewet",
                        WetnessBasis::Published => "rewet-wiped",
                    };
                    let facts = [
                        ("film", thickness(&wetness.film)),
                        ("dries", Fact::Time(dries.clone())),
                        ("contact", contact()),
                        ("applications", applications()),
                        ("every", Fact::Time(every.clone())),
                    ];
                    all.add(code, facts);
                    if let Some(section) = wetness.section.as_ref().filter(|s| plan.areas.iter().any(|a| a.size > **s))
                    {
                        let facts = [("section", Fact::Area(section.clone())), ("every", Fact::Time(every.clone()))];
                        all.add("section", facts);
                    }
                }
                (_, Some(dries)) => all.add(
                    "stays-wet",
                    [("film", thickness(&wetness.film)), ("dries", Fact::Time(dries.clone())), ("contact", contact())],
                ),
                (_, None) => {}
            }
        }
        None if written.product.kind == ProductKind::Alcohol => all.add("alcohol-dries", [("contact", contact())]),
        None if written.sprayer.method != Method::Dip => all.add("no-drying-estimate", []),
        None => {}
    }
    if plan.sprayer.method != Method::Dip {
        let start = plan.areas.iter().map(|a| a.times.start).min().unwrap_or(plan.begins);
        let (code, until) = match plan.floor_dry {
            Some(dry) => ("floor-dry", dry),
            None => ("slip", plan.wet_until),
        };
        all.add(code, [("start", Fact::Moment(start)), ("until", Fact::Moment(until))]);
    }
}

fn air(plan: &TreatmentPlan, all: &mut Cautions) {
    if plan.directions.reentry.is_none() {
        all.add("reentry-unknown", []);
    }
    match &plan.air {
        Some(air) => {
            let facts = [
                ("cleared", Fact::Share(air.cleared.clone())),
                ("takes", Fact::Time(air.takes.clone())),
                ("changes", Fact::Count(air.changes_per_hour.clone())),
                ("factor", Fact::Count(air.mixing_factor.clone())),
                ("at", Fact::Moment(air.clear_at)),
            ];
            all.add("air-clearing", facts);
            if air.mixing_assumed {
                all.add("air-mixing-assumed", [("factor", Fact::Count(air.mixing_factor.clone()))]);
            }
        }
        None if plan.sprayer.airborne().is_some() && plan.areas.iter().any(|a| !a.outdoors) => {
            all.add("air-unknown", []);
        }
        None => {}
    }
    if let Some(settling) = &plan.settling {
        let facts = [
            ("droplet", Fact::Micrometres(settling.droplet.clone())),
            ("height", Fact::Length(settling.height.clone())),
            ("takes", Fact::Time(settling.takes.clone())),
        ];
        all.add("settling", facts);
    }
}

fn hazards_shown(plan: &TreatmentPlan, all: &mut Cautions) {
    let shown = &plan.hazards;
    if shown.source == HazardSource::Concentrate {
        all.add("concentrate-hazards", []);
    }
    let Some(computed) = &shown.computed else { return };
    let found = computed.hazards();
    let listed = |hazards: &[Hazard]| Fact::List(hazards.iter().map(|h| Fact::text(h.to_string())).collect());
    let rules = Fact::text(computed.classification.rules.to_string());
    if shown.source != HazardSource::Calculated {
        let hazards = if found.is_empty() { Fact::Word("nothing_found".into()) } else { listed(&found) };
        all.add("computed-hazards", [("rules", rules.clone()), ("hazards", hazards)]);
    }
    let worse: Vec<Hazard> = found.into_iter().filter(|h| !shown.classes.iter().any(|own| own.covers(*h))).collect();
    if !worse.is_empty() && matches!(shown.source, HazardSource::UseSolution | HazardSource::NotClassified) {
        all.add("computed-worse", [("rules", rules), ("hazards", listed(&worse))]);
    }
    if !computed.complete {
        let lacking = hazards::lacking(computed).iter().map(hazards::Lack::fact).collect();
        all.add("computed-incomplete", [("lacking", Fact::List(lacking))]);
    }
}

fn lots(written: &Treatment, job: &Job, all: &mut Cautions) {
    let day = job.visit.start.date();
    for (lot, last) in written.product.lots.expired_on(day) {
        let facts =
            [("product", Fact::text(&written.product.name)), ("lot", Fact::text(lot)), ("last", Fact::Day(last))];
        all.add("lot-expired", facts);
    }
    for (lot, last) in written.product.strip.iter().flat_map(|s| s.lots.expired_on(day)) {
        let facts =
            [("product", Fact::text(&written.product.name)), ("lot", Fact::text(lot)), ("last", Fact::Day(last))];
        all.add("strip-lot-expired", facts);
    }
}
