//! The cautions that one treatment calls for. A kind's weight, place and source stand in `cautions.csv`.

use std::collections::BTreeMap;

use super::dose::{DoseTop, mixing_vessel};
use super::equipment::Why;
use super::{Caution, Fact, Floor, HazardSource, Reentry, TreatmentPlan, WetnessBasis, hazards};
use crate::calc::coverage;
use crate::calc::food_code::{self, Figure, Sanitizer, Unmet, Use};
use crate::calc::food_contact::{Finding, FoodPlace};
use crate::calc::food_contact_limits::List;
use crate::calc::loads::is_far;
use crate::calc::mixing;
use crate::company::{Airborne, Doubt, Method, ProductKind, Surface};
use crate::ghs::Hazard;
use crate::job::{Job, Treatment};
use crate::quantity::{Film, Length, Number, Share};

/// More than this share of what is wanted, mixed in vain, is worth a word to the crew. No published rule.
const LEFT_OVER: (i64, i64) = (1, 10);

/// Everything to watch for in a treatment.
pub(super) fn of_treatment(written: &Treatment, plan: &TreatmentPlan, job: &Job) -> Vec<Caution> {
    let mut all = Cautions { written, plan, list: Vec::new() };
    all.product();
    all.lots(job);
    all.coverage();
    all.dose();
    all.strength();
    all.food();
    all.food_code(job);
    all.wetness();
    all.floor();
    all.air();
    all.wear();
    all.hazards();
    all.list
}

struct Cautions<'a> {
    written: &'a Treatment,
    plan: &'a TreatmentPlan,
    list: Vec<Caution>,
}

impl Cautions<'_> {
    fn add<const N: usize>(&mut self, code: &'static str, facts: [(&'static str, Fact); N]) {
        let caution = Caution::new(code, Some(self.plan.number));
        self.list.push(facts.into_iter().fold(caution, |c, (name, fact)| c.with(name, fact)));
    }

    /// What the company file says of the product that may be true and is rarely so, and what of it nobody knows.
    fn product(&mut self) {
        let (product, unknown) = (&self.written.product, &self.plan.hazards.unknown_acute);
        let name = ("product", Fact::text(&product.name));
        if !product.label_checked {
            self.add("label-not-checked", [name.clone()]);
        }
        let never_with = product.never_with.as_deref();
        if never_with.is_none() {
            self.add("never-with-missing", [name.clone()]);
        }
        match never_with.unwrap_or_default() {
            [] => {
                let others = mixing::never_with(&product.families);
                let others: Vec<Fact> =
                    others.map(|family| Fact::Word(format!("families.{}", family.name()))).collect();
                if !others.is_empty() {
                    self.add("never-with-family", [name.clone(), ("others", Fact::List(others))]);
                }
            }
            others => self.add("never-with", [("others", Fact::List(others.iter().map(Fact::text).collect()))]),
        }
        for doubt in product.doubts() {
            let name = name.clone();
            match doubt {
                Doubt::NearlyDry { stated, with_water } => {
                    let facts = [name, ("stated", Fact::Share(stated)), ("most", Fact::Share(with_water))];
                    self.add("chlorine-high", facts);
                }
                Doubt::WeakChlorine { share } => self.add("chlorine-low", [name, ("share", Fact::Share(share))]),
                Doubt::SignalWithoutHazards => self.add("signal-without-hazards", [name]),
                Doubt::SignalWeaker => self.add("signal-weaker", [name]),
            }
        }
        for unknown in unknown {
            let route = Fact::Word(format!("routes.{}", unknown.route));
            let share = Fact::Share(unknown.share.clone());
            self.add("unknown-toxicity", [name.clone(), ("share", share), ("route", route)]);
        }
    }

    fn lots(&mut self, job: &Job) {
        let product = &self.written.product;
        let (day, strip) = (job.visit.start.date(), product.strip.as_ref());
        let expired = product.lots.expired_on(day).map(|lot| ("lot-expired", lot));
        let of_strip = strip.into_iter().flat_map(|s| s.lots.expired_on(day)).map(|lot| ("strip-lot-expired", lot));
        for (code, (lot, last)) in expired.chain(of_strip) {
            let name = Fact::text(&product.name);
            self.add(code, [("product", name), ("lot", Fact::text(lot)), ("last", Fact::Day(last))]);
        }
    }

    fn coverage(&mut self) {
        let (sprayer, wanted) = (&self.written.sprayer, &self.written.directions.coverage);
        if let (Some(wanted), Some(flow), Some(pace)) = (wanted, &sprayer.flow, &sprayer.pace)
            && let Ok(laid) = coverage::film_from_pace(flow, &pace.speed, &pace.swath)
            && laid < *wanted
        {
            let facts = [("laid", Fact::Coverage(laid)), ("wanted", Fact::Coverage(wanted.clone()))];
            self.add("pace-too-fast", facts);
        }
        if wanted.is_none() {
            self.add("no-coverage", [("film", Fact::Coverage(self.plan.film.clone()))]);
        }
    }

    /// What lies above or below the label's dose, what is left over, what must be mixed small.
    fn dose(&mut self) {
        let (plan, one) = (self.plan, Number::one());
        let factors = || plan.loads.iter().map(|load| &load.factor);
        let off = |factor: &Number| [("percent", Fact::Share(Share::of_one((factor - &one).abs())))];
        if let Some(least) = factors().min().filter(|factor| **factor < one) {
            self.add("dose-under-label", off(least));
        }
        // Within the label's own range there is nothing to say.
        let most = factors().max().filter(|_| plan.dose.set_by != DoseTop::LabelRange);
        if let Some(most) = most.filter(|factor| **factor > one && is_far(factor)) {
            self.add("dose-above-label", off(most));
        }
        let need = &plan.need;
        if need.mixed > need.total.times(&(Number::one() + Number::ratio(LEFT_OVER.0, LEFT_OVER.1))) {
            self.add("left-over", [("left", Fact::Solution(&need.mixed - &need.total))]);
        }
        if let (Some(finer), Some(fullest)) = (&plan.finer_marks, plan.loads.iter().map(|load| &load.solution).max()) {
            let count = |loads: usize| Fact::Count(Number::int(i64::try_from(loads).unwrap_or(i64::MAX)));
            let vessel = mixing_vessel(self.written);
            self.add(
                "loads-half-full",
                [
                    ("loads", count(plan.loads.len())),
                    ("fill", Fact::Volume(fullest.clone())),
                    ("holds", Fact::Volume(vessel.holds)),
                    ("now", Fact::Marks(finer.now.clone())),
                    ("marks", Fact::Marks(finer.marks.clone())),
                    ("measure", Fact::Word(format!("measures.{}", finer.measures.word()))),
                    ("fewer", count(finer.loads)),
                ],
            );
        }
        if let (true, Some(keeps)) = (plan.cut_for_keeps, &plan.product.keeps) {
            self.add("loads-kept-small", [("keeps", Fact::Time(keeps.clone()))]);
        }
    }

    fn strength(&mut self) {
        let strength = &self.plan.strength;
        if let Some(stated) = &strength.stated {
            let apart = stated.as_milligrams_per_litre() - strength.label.as_milligrams_per_litre();
            let apart = Share::of_one(apart.abs() / stated.as_milligrams_per_litre());
            if *apart.as_of_one() > Number::ratio(1, 10) {
                let facts = [
                    ("stated", Fact::Strength(stated.clone())),
                    ("computed", Fact::Strength(strength.label.clone())),
                    ("percent", Fact::Share(apart)),
                ];
                self.add("strength-differs", facts);
            }
        }
        match &self.plan.strip {
            None => self.add("strip-missing", [("product", Fact::text(&self.plan.product.name))]),
            Some(strip) if strip.off_scale => {
                self.add("strip-off-scale", [("strength", Fact::Strength(strength.mixed.clone()))]);
            }
            Some(strip) if strip.cannot_show => {
                self.add("strip-cannot-show", [("strength", Fact::Strength(strength.label.clone()))]);
            }
            Some(_) => {}
        }
    }

    fn food(&mut self) {
        let (Some(rinse), Some(residue)) = (&self.plan.rinse, &self.plan.residue) else { return };
        let with = rinse.with.as_ref().map_or_else(|| Fact::Word("potable_water".into()), Fact::text);
        self.add("rinse", [("rinse", with)]);
        for finding in &residue.findings {
            match finding {
                // Of several limits for the same ingredients the lowest says it all.
                _ if residue.findings.iter().any(|other| is_stricter(other, finding)) => {}
                Finding::Over { cas, limit, found, list, .. } => {
                    let names = cas.iter().map(|cas| Fact::text(self.name_of(cas))).collect();
                    let paragraph = match list {
                        List::A => "(a)",
                        List::B => "(b)",
                        List::C => "(c)",
                    };
                    let facts = [
                        ("substance", Fact::List(names)),
                        ("limit", Fact::Strength(limit.clone())),
                        ("found", Fact::Strength(found.clone())),
                        ("list", Fact::text(paragraph)),
                    ];
                    self.add("residue-over", facts);
                }
                Finding::NotListed { cas } | Finding::LimitNotStated { cas, .. } => self.not_listed(residue.place, cas),
            }
        }
        for name in &residue.unnumbered {
            self.not_listed(residue.place, name);
        }
    }

    /// The product's own name for a CAS number.
    fn name_of<'n>(&'n self, cas: &'n str) -> &'n str {
        let active = self.plan.strength.actives.iter().find(|a| a.cas.as_deref() == Some(cas));
        active.map_or(cas, |a| a.name.as_str())
    }

    /// `who` is a CAS number, or the name of an ingredient that has none.
    fn not_listed(&mut self, place: FoodPlace, who: &str) {
        let place = match place {
            FoodPlace::PublicEatingPlace => "eating-place",
            FoodPlace::Dairy => "dairy",
            FoodPlace::FoodProcessing => "processing",
        };
        let substance = Fact::text(self.name_of(who));
        let facts = [("substance", substance), ("place", Fact::Word(format!("food_places.{place}")))];
        self.add("residue-not-listed", facts);
    }

    /// The Food Code's conditions for sanitizers, compared with what the job says of its water: for surfaces that food
    /// touches, where it says anything.
    fn food_code(&mut self, job: &Job) {
        let (directions, water) = (&self.written.directions, &job.site.water);
        if directions.surface != Surface::FoodContact || !water.is_known() {
            return;
        }
        let strength = &self.plan.strength;
        let solution = Use {
            strength: Some(&strength.mixed),
            temperature: water.temperature.as_ref(),
            // The label's pH of the use solution stands in where nobody has measured it.
            ph: water.ph.as_ref().or(directions.ph.as_ref()),
            hardness: water.hardness.as_ref(),
        };
        let (unmet, sanitizer) = match self.written.product.kind {
            kind if kind.is_chlorine() => (food_code::chlorine(&solution), Sanitizer::Chlorine),
            ProductKind::Iodine => (food_code::iodine(&solution, None), Sanitizer::Other),
            ProductKind::Quat => (food_code::quaternary(&solution, &strength.label, None), Sanitizer::Other),
            _ => return,
        };
        for unmet in unmet {
            match unmet {
                Unmet::TooWeak { least } => self.add("food-code-weak", [("least", Fact::Strength(least))]),
                Unmet::TooStrong { most } => self.add("food-code-strong", [("most", Fact::Strength(most))]),
                Unmet::TooCold { least } => self.add("food-code-cold", [("least", Fact::Temperature(least))]),
                Unmet::PhTooHigh { most } => self.add("food-code-ph", [("most", Fact::Count(most))]),
                Unmet::TooHard { most } => self.add("food-code-hard", [("most", Fact::Strength(most))]),
                Unmet::NotGiven { what } => {
                    let figure = match what {
                        Figure::Strength => "figures.strength",
                        Figure::Temperature => "figures.temperature",
                        Figure::Ph => "figures.ph",
                        Figure::Hardness => "figures.hardness",
                    };
                    self.add("food-code-not-given", [("what", Fact::Word(figure.to_owned()))]);
                }
            }
        }
        let least = food_code::contact_time(sanitizer, &solution);
        if directions.contact_time < least {
            self.add("food-code-short", [("least", Fact::Time(least))]);
        }
    }

    fn wetness(&mut self) {
        let plan = self.plan;
        let contact = ("contact", Fact::Time(plan.directions.contact_time.clone()));
        match &plan.wetness {
            Some(wetness) => {
                let Some(dries) = &wetness.dries_after else { return };
                let (film, dries) = (("film", thickness(&wetness.film)), ("dries", Fact::Time(dries.clone())));
                let Some(every) = &wetness.every else {
                    return self.add("stays-wet", [film, dries, contact]);
                };
                let code = match wetness.basis {
                    WetnessBasis::Estimate => "rewet",
                    WetnessBasis::Published => "rewet-wiped",
                };
                let applications = ("applications", Fact::Count(Number::int(i64::from(wetness.applications))));
                let every = ("every", Fact::Time(every.clone()));
                self.add(code, [film, dries, contact, applications, every.clone()]);
                if let Some(section) = wetness.section.as_ref().filter(|s| plan.areas.iter().any(|a| a.size > **s)) {
                    self.add("section", [("section", Fact::Area(section.clone())), every]);
                }
            }
            None if plan.product.kind == ProductKind::Alcohol => self.add("alcohol-dries", [contact]),
            None if plan.sprayer.method != Method::Dip => self.add("no-drying-estimate", []),
            None => {}
        }
    }

    fn floor(&mut self) {
        let plan = self.plan;
        if plan.floor() != Floor::Wet {
            return;
        }
        let start = plan.areas.iter().map(|a| a.times.start).min().unwrap_or(plan.begins);
        let (code, until) = plan.floor_dry.map_or(("slip", plan.wet_until), |dry| ("floor-dry", dry));
        self.add(code, [("start", Fact::Moment(start)), ("until", Fact::Moment(until))]);
    }

    /// What a spray that is breathed in asks for, why it is one, and when the air is clear.
    fn air(&mut self) {
        let plan = self.plan;
        let airborne = plan.sprayer.airborne();
        let sprayer = || ("sprayer", Fact::text(&plan.sprayer.name));
        if airborne.is_some() {
            self.add("respirator", []);
        }
        if let (Some(Airborne::ByDroplet), Some(droplet)) = (airborne, &plan.sprayer.droplet) {
            self.add("fine-droplets", [sprayer(), ("droplet", Fact::Micrometres(droplet.clone()))]);
        }
        if plan.sprayer.method == Method::Electrostatic {
            self.add("electrostatic", []);
            if plan.sprayer.droplet.is_none() {
                self.add("electrostatic-droplet-unknown", [sprayer()]);
            }
        }
        if plan.reentry == Reentry::NotKnown {
            self.add("reentry-not-known", []);
        } else if plan.directions.reentry_when_dry {
            self.add("reentry-when-dry", []);
        } else if plan.directions.reentry.is_none() {
            self.add("reentry-unknown", []);
        }
        if let Some(air) = &plan.air {
            let factor = ("factor", Fact::Count(air.mixing_factor.clone()));
            let facts = [
                ("cleared", Fact::Share(air.cleared.clone())),
                ("takes", Fact::Time(air.takes.clone())),
                ("changes", Fact::Count(air.changes_per_hour.clone())),
                factor.clone(),
                ("at", Fact::Moment(air.clear_at)),
            ];
            self.add("air-clearing", facts);
            if air.mixing_assumed {
                self.add("air-mixing-assumed", [factor]);
            }
        } else if airborne.is_some() && plan.reentry != Reentry::NotKnown && plan.areas.iter().any(|a| !a.outdoors) {
            self.add("air-unknown", []);
        }
        if let Some(settling) = &plan.settling {
            let facts = [
                ("droplet", Fact::Micrometres(settling.droplet.clone())),
                ("height", Fact::Length(settling.height.clone())),
                ("takes", Fact::Time(settling.takes.clone())),
            ];
            self.add("settling", facts);
        }
    }

    /// What is worn beyond the data sheet's list, by the reason for it.
    fn wear(&mut self) {
        let (plan, sds) = (self.plan, &self.written.product.sds);
        let mut added: BTreeMap<Why, Vec<Fact>> = BTreeMap::new();
        for worn in plan.equipment.iter().filter(|worn| !worn.why.contains(&Why::DataSheet)) {
            // a hazard says more than that it is worn with every product
            if let Some(why) = worn.why.iter().max_by_key(|why| **why != Why::Handling) {
                added.entry(*why).or_default().push(Fact::Word(format!("equipment.{}", worn.item.word())));
            }
        }
        let reason = |(why, items): (Why, Vec<Fact>)| {
            let codes = why.statements(sds, &plan.hazards.of_solution()).join(" ");
            let mut parts = vec![Fact::List(items), Fact::Word(format!("why.{}", why.word()))];
            parts.extend((!codes.is_empty()).then(|| Fact::text(codes)));
            Fact::List(parts)
        };
        let added: Vec<Fact> = added.into_iter().map(reason).collect();
        if !added.is_empty() {
            self.add("wear", [("added", Fact::List(added))]);
        }
    }

    fn hazards(&mut self) {
        let shown = &self.plan.hazards;
        if shown.source == HazardSource::Concentrate {
            self.add("concentrate-hazards", []);
        }
        let Some(computed) = &shown.computed else { return };
        let found = computed.hazards();
        let listed = |hazards: &[Hazard]| Fact::List(hazards.iter().map(|h| Fact::text(h.to_string())).collect());
        let rules = ("rules", Fact::text(computed.classification.rules.to_string()));
        if shown.source != HazardSource::Calculated {
            let hazards = if found.is_empty() { Fact::Word("nothing_found".into()) } else { listed(&found) };
            self.add("computed-hazards", [rules.clone(), ("hazards", hazards)]);
        }
        let worse = found.into_iter().filter(|h| !shown.classes.iter().any(|own| own.covers(*h)));
        let worse: Vec<Hazard> = worse.collect();
        if !worse.is_empty() && matches!(shown.source, HazardSource::UseSolution | HazardSource::NotClassified) {
            self.add("computed-worse", [rules, ("hazards", listed(&worse))]);
        }
        if !computed.complete {
            let lacking = hazards::lacking(computed).iter().map(hazards::Lack::fact).collect();
            self.add("computed-incomplete", [("lacking", Fact::List(lacking))]);
        }
    }
}

/// A milliliter on a square meter is a micrometer thick.
fn thickness(film: &Film) -> Fact {
    let millionth = Number::ratio(1, 1_000_000);
    Fact::Micrometres(Length::metres(film.as_millilitres_per_square_metre() * &millionth))
}

/// Whether one finding is about the same ingredients as another and a lower limit.
fn is_stricter(one: &Finding, other: &Finding) -> bool {
    match (one, other) {
        (Finding::Over { cas: a, limit: low, .. }, Finding::Over { cas: b, limit: high, .. }) => a == b && low < high,
        _ => false,
    }
}
