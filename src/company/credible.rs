//! Whether the figures of a product can be true together: its contents, its density, its available chlorine, its signal
//! word and its hazards. What cannot be true is refused where the company file is read; what may be true and is rarely so
//! is a [`Doubt`], which becomes a caution of every plan with the product.

use super::ingredient::Ingredient;
use super::{DilutedHazards, LabelSignal, Product};
use crate::calc::chlorine::{self, MostAvailable};
use crate::diagnostic::Diagnostics;
use crate::ghs::Signal;
use crate::quantity::{Content, Density, Number, Share, parse};
use crate::yaml::{At, Declared, Node, Origin, Shape, keys};

/// What may be true of a product and is rarely so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// The stated available chlorine is more than the compound holds with its water of crystallization.
    NearlyDry {
        /// Share of what holds the chlorine: of the product, or of the compound in it.
        stated: Share,
        /// What the compound holds with its water.
        with_water: Share,
    },
    /// The stated available chlorine is much less than the content gives.
    WeakChlorine { share: Share },
    /// The product's own label has a signal word of toxicity category II, and the data sheet no hazard.
    SignalWithoutHazards,
    /// The product's own label says DANGER, and the data sheet's hazards do not.
    SignalWeaker,
}

/// How far stated chlorine may lie above what the content gives: labels round both figures. No published rule; a twentieth
/// covers a content of two digits.
fn rounding() -> Number {
    Number::ratio(105, 100)
}

/// Reads a density: `0.99 kg/L`, or `{ is: 0.5 kg/L, confirmed: yes }` outside 0.6 to 2.5 kg/L, where hardly any
/// disinfectant lies. No published rule; chosen because it protects: the strength of every mix follows from it.
pub(super) fn read_density(node: &Node<'_>, report: &mut Diagnostics) -> Option<Density> {
    let ConfirmedDensity { is: written, confirmed } = if node.is_scalar() {
        ConfirmedDensity { is: At::from_node(node, report)?, confirmed: false }
    } else {
        ConfirmedDensity::from_node(node, report)?
    };
    let density = written.parse(report, parse::density)?;
    let value = density.as_kilograms_per_litre();
    if !confirmed && (*value < Number::ratio(6, 10) || *value > Number::ratio(25, 10)) {
        let text = &written.value;
        let message = format!("a density of {text} lies outside 0.6 to 2.5 kg/L (5 to 21 lb/gal)");
        let hint = format!(
            "compare it with section 9 of the data sheet; if it is right, write `density: {{ is: {text}, confirmed: yes }}`"
        );
        return report.fail(written.origin.error("density-implausible", message).hint(hint));
    }
    Some(density)
}

pub(super) fn density_shape() -> Shape {
    Shape::Either(vec![Density::shape(), ConfirmedDensity::shape()])
}

keys! {
    /// A density outside 0.6 to 2.5 kg/L that somebody has looked at twice.
    struct ConfirmedDensity {
        /// The density. Example: `0.5 kg/L`
        is: At<String>, required;
        /// Whether it was compared with section 9 of the data sheet.
        confirmed: bool, or(false, "no");
    }
}

impl Product {
    /// The share of the product's weight that a content of it is, 0 and up; above 1 it cannot be true. `None` where a density
    /// or a tablet's weight is not known. `pure` is the density of the pure substance, for a content by volume.
    pub fn share_by_weight(&self, content: &Content, pure: Option<&Density>) -> Option<Share> {
        let density = || self.density.as_ref().map(|d| d.as_kilograms_per_litre().clone());
        let share = match content {
            Content::ByWeight(share) => share.as_of_one().clone(),
            Content::ByVolume(strength) => strength.as_milligrams_per_litre() / &(density()? * Number::int(1_000_000)),
            Content::VolumeShare(share) => share.as_of_one() * pure?.as_kilograms_per_litre() / density()?,
            Content::PerTablet(mass) => mass.over(self.tablet.as_ref()?),
        };
        Some(Share::of_one(share))
    }

    /// What of its figures may be true and is rarely so.
    pub fn doubts(&self) -> Vec<Doubt> {
        let mut doubts = Vec::new();
        if self.sds.hazards.is_empty() && self.label_signal == Some(LabelSignal::Warning) {
            doubts.push(Doubt::SignalWithoutHazards);
        }
        let word = self.sds.hazards.iter().filter_map(|hazard| hazard.signal()).max();
        if self.label_signal == Some(LabelSignal::Danger) && word != Some(Signal::Danger) {
            doubts.push(Doubt::SignalWeaker);
        }
        let Some(claim) = Claim::of(self) else { return doubts };
        let near = |share: &Option<Number>, most: &MostAvailable| {
            share.as_ref().filter(|share| **share > rounded(&most.with_water)).map(|stated| Doubt::NearlyDry {
                stated: Share::of_one(stated.clone()),
                with_water: Share::of_one(most.with_water.clone()),
            })
        };
        doubts.extend(near(&claim.of_product, &claim.most).or_else(|| near(&claim.of_hydrate, &claim.most)));
        if let Some(share) = claim.of_content.filter(|share| *share < Number::ratio(9, 10)) {
            doubts.push(Doubt::WeakChlorine { share: Share::of_one(share) });
        }
        doubts
    }
}

/// Tells everything of a product that cannot be true.
pub(super) fn check(product: &Product, report: &mut Diagnostics) {
    contents(product, report);
    available_chlorine(product, report);
    hazards(product, report);
    invented(product, report);
}

/// An example is never taken for what somebody read off a label.
fn invented(product: &Product, report: &mut Diagnostics) {
    if !product.label_checked || product.invented.is_empty() {
        return;
    }
    let keys: Vec<String> = product.invented.iter().map(|key| format!("`{key}`")).collect();
    let keys = keys.join(", ");
    let message = format!("`label_checked: yes`, and `invented` still names what `decant new` made up: {keys}");
    let origin = product.origin.key(if product.origin.has("label_checked") { "label_checked" } else { "invented" });
    report.push(
        origin
            .error("still-invented", message)
            .hint("put in the place of each what the product's label or its safety data sheet says, or take the key out; then take its name out of `invented`")
            .hint("until all are done, `label_checked: no` keeps every page a DRAFT"),
    );
}

fn contents(product: &Product, report: &mut Diagnostics) {
    let mut all = Number::zero();
    let mut by_volume = Number::zero();
    let mut reported = false;
    for ingredient in &product.ingredients {
        if let Content::VolumeShare(share) = &ingredient.content {
            by_volume += share.as_of_one();
        }
        let Some(share) = product.share_by_weight(&ingredient.content, ingredient.density.as_ref()) else {
            continue;
        };
        let share = share.as_of_one();
        all += share;
        if *share <= 1 {
            continue;
        }
        reported = true;
        let origin = ingredient.origin.key("content");
        let (name, percent) = (&ingredient.name, (share * &Number::int(100)).decimal(1));
        let problem = match ingredient.content {
            Content::PerTablet(_) => origin
                .error("content-over-tablet", format!("a tablet weighs less than the {name} said to be in it"))
                .hint("`tablet` is the weight of one tablet; compare it and the content with the label"),
            _ => origin
                .error("content-over-density", format!("{name} would be {percent} % of the product's own weight"))
                .hint("compare the content, its unit and the `density` with the data sheet"),
        };
        report.push(problem);
    }
    if reported {
        return;
    }
    let percent = |share: Number| (share * Number::int(100)).decimal(1);
    // A hundredth more is what rounded densities make of a whole.
    let (message, hint) = if all > Number::ratio(101, 100) {
        let message = format!("the ingredients come to {} % of the product's weight", percent(all));
        (message, "compare the contents, their units and the densities with the data sheet")
    // Ethanol and water shrink by up to about 4 % as they mix, so shares by volume may add up to a little over the whole.
    } else if by_volume > Number::ratio(105, 100) {
        let message = format!("the ingredients by volume come to {} % together", percent(by_volume));
        (message, "a product holds 100 % at most")
    } else {
        return;
    };
    report.push(product.origin.key("ingredients").error("over-the-whole", message).hint(hint));
}

/// What a product says of its available chlorine, compared with what its compounds can hold.
struct Claim {
    /// Of the product's weight, where that can be worked out.
    of_product: Option<Number>,
    /// Of the weight of the only compound, where the file names it as the hydrate.
    of_hydrate: Option<Number>,
    /// Of what the compounds give at their contents, each by the least that its CAS number may mean; `None` where an active
    /// that is not known here may hold chlorine too.
    of_content: Option<Number>,
    /// The same, each by the most that its CAS number may mean.
    of_dry_content: Option<Number>,
    /// What the best of the compounds holds.
    most: MostAvailable,
    /// Whether a compound is named at all; else `most` is that of the richest there is.
    named: bool,
}

impl Claim {
    fn of(product: &Product) -> Option<Claim> {
        let stated = product.available_chlorine.as_ref()?;
        let releasing: Vec<(&Ingredient, MostAvailable)> = product
            .ingredients
            .iter()
            .filter_map(|i| Some((i, chlorine::most_available(i.cas.as_deref()?)?)))
            .collect();
        let best = releasing.iter().map(|(_, most)| most).max_by(|a, b| a.dry.cmp(&b.dry));
        let most = best.cloned().unwrap_or_else(MostAvailable::of_any);
        let unknown = product.actives().any(|i| i.cas.is_none());
        let against = |factor: &dyn Fn(&MostAvailable) -> Number| {
            let mut sum = Number::zero();
            let mut shown = Number::zero();
            for (ingredient, most) in &releasing {
                let (of_stated, of_content) = alike(product, stated, ingredient)?;
                shown = of_stated;
                sum += &(of_content * factor(most));
            }
            sum.is_positive().then(|| shown / sum)
        };
        let known = |share: Option<Number>| share.filter(|_| !unknown);
        let of_hydrate = match releasing.as_slice() {
            [(ingredient, most)] if most.is_hydrate && !unknown => {
                alike(product, stated, ingredient).map(|(stated, content)| stated / content)
            }
            _ => None,
        };
        Some(Claim {
            of_product: product.share_by_weight(stated, None).map(|share| share.as_of_one().clone()),
            of_hydrate,
            of_content: known(against(&|most| most.with_water.clone())),
            of_dry_content: known(against(&|most| most.dry.clone())),
            named: !releasing.is_empty(),
            most,
        })
    }
}

/// Two contents in one unit: as they are written where they are written alike, else by weight.
fn alike(product: &Product, stated: &Content, ingredient: &Ingredient) -> Option<(Number, Number)> {
    Some(match (stated, &ingredient.content) {
        (Content::ByWeight(a), Content::ByWeight(b)) => (a.as_of_one().clone(), b.as_of_one().clone()),
        (Content::ByVolume(a), Content::ByVolume(b)) => {
            (a.as_milligrams_per_litre().clone(), b.as_milligrams_per_litre().clone())
        }
        (Content::PerTablet(a), Content::PerTablet(b)) => (a.as_grams().clone(), b.as_grams().clone()),
        (a, b) => {
            let share = |content, pure| product.share_by_weight(content, pure).map(|s| s.as_of_one().clone());
            (share(a, None)?, share(b, ingredient.density.as_ref())?)
        }
    })
}

/// Labels give a tenth of a per cent, so 64.5 % stands for 64.47 %.
fn rounded(most: &Number) -> Number {
    most.round_to(&Number::ratio(1, 1000)).max(most.clone())
}

fn available_chlorine(product: &Product, report: &mut Diagnostics) {
    let Some(claim) = Claim::of(product) else { return };
    let origin: Origin = product.origin.key("available_chlorine");
    let percent = |share: &Number| (share * &Number::int(100)).decimal(1);
    let most = percent(&claim.most.dry);
    if let Some(share) = claim.of_product.as_ref().filter(|share| **share > rounded(&claim.most.dry)) {
        let what =
            if claim.named { "its compound can hold even when pure and dry" } else { "any compound in use can hold" };
        let message = format!(
            "{} % of the product's weight would be available chlorine, more than {what} ({most} %)",
            percent(share)
        );
        let mut problem = origin.error("chlorine-over-compound", message);
        if claim.named && matches!(product.available_chlorine, Some(Content::ByWeight(_))) && *share <= 1 {
            let gives = percent(&(share * &claim.most.dry));
            problem = problem.hint(format!(
                "if {} % is the content of the compound, write it at the ingredient; its available chlorine is {gives} %",
                percent(share)
            ));
        }
        report.push(problem.hint("copy `available_chlorine` from the label, with its unit"));
        return;
    }
    let over = |share: &Number| *share > rounding();
    if claim.of_dry_content.as_ref().is_some_and(over) {
        let message = "more available chlorine is stated than the contents of the ingredients can give";
        report.push(
            origin
                .error("chlorine-over-content", message)
                .hint(format!("pure and dry the compound holds {most} % of its own weight"))
                .hint("compare `available_chlorine` and the ingredient's `content` with the label"),
        );
    }
}

/// EPA puts DANGER on what is most toxic or corrodes skin or eyes (toxicity category I, 40 CFR 156.64): a data sheet
/// without any hazard for such a product was not copied whole.
fn hazards(product: &Product, report: &mut Diagnostics) {
    let sds = &product.sds;
    let origin = product.origin.key("sds");
    if sds.hazards.is_empty() && product.label_signal == Some(LabelSignal::Danger) {
        let message = "the product's own label says DANGER, and no hazard of the data sheet stands here";
        report.push(
            origin
                .key("hazards")
                .error("hazards-missing", message)
                .hint("copy the classification from section 2 of the data sheet, such as `[Skin Corr. 1B, Eye Dam. 1]`")
                .hint("where the sheet has none, ask the maker for one that agrees with the label"),
        );
    }
    if !matches!(sds.use_solution, DilutedHazards::Calculated { .. }) {
        return;
    }
    for active in product.actives() {
        let none = active.facts.as_ref().is_none_or(|facts| facts.hazards.is_empty());
        // `hazards: []` says that it has none. Where the whole product is classified that is hardly so of an active.
        if !none || (active.hazards_given && sds.hazards.is_empty()) {
            continue;
        }
        let message = format!("the calculation is asked for, and no hazard of the active {} is given", active.name);
        report.push(
            active
                .origin
                .error("active-hazards-missing", message)
                .hint("copy its classification from section 3 of the data sheet, such as `hazards: [Skin Corr. 1B]`")
                .hint("or write `use_solution_hazards: none stated`, and labels show the concentrate's"),
        );
    }
}
