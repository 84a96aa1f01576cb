//! Whether a dilution of the directions can be meant: against what `basis` says of it, and against sense.

use crate::diagnostic::Diagnostics;
use crate::quantity::{Basis, Dilution, Form, Number};
use crate::yaml::Node;

/// Whether `basis`, where the file gives it, says the same as the dilution; tells it where not. `1:64`, `1 in 64` and `0.5 %`
/// say themselves what they count.
pub(super) fn basis_agrees(
    written: &Node<'_>,
    at: &Node<'_>,
    (dilution, form, basis): (&Dilution, Form, Basis),
    report: &mut Diagnostics,
) -> bool {
    let text = at.text(report).unwrap_or_default();
    let meaning = match dilution.basis() {
        Some(says) if says == basis && form != Form::ReadyToUse => return true,
        Some(Basis::AddedTo) => "that much water, to which the product is added (`added-to`)",
        Some(Basis::MadeUpTo) => "the finished solution (`made-up-to`)",
        None => "nothing that is added",
    };
    report.push(
        written
            .error("basis-contradicts", format!("`{text}` says by itself that it counts {meaning}"))
            .hint("take `basis` out, or write the dilution as the label does, such as `2 fl oz/gal`"),
    );
    false
}

/// Whether a dilution adds at least as much water as product; tells it where not. A use solution that is mostly product is a slip
/// in the directions. No published rule; chosen because it protects. A strength to be reached is compared with the product's
/// content where it is worked out.
pub(super) fn is_plausible(dilution: &Dilution, at: &Node<'_>, report: &mut Diagnostics) -> bool {
    let half = Number::ratio(1, 2);
    // Product for each part of water, or twice the product's share of the solution: up to 1 for equal parts.
    let parts = match dilution {
        Dilution::Liquid { product, per, basis } => for_water(product.over(per), *basis),
        // A gram for each millilitre is more than most powders dissolve.
        Dilution::Powder { product, per, basis } => for_water(product.as_grams() / per.as_millilitres(), *basis),
        Dilution::Parts { product, per, basis } => for_water(product / per, *basis),
        Dilution::Percent { share } => share.as_of_one() / &half,
        // A tablet for each 10 mL.
        Dilution::Tablets { count, per, .. } => count / per.as_millilitres() * Number::int(10),
        Dilution::Target { .. } | Dilution::ReadyToUse => return true,
    };
    if parts <= 1 {
        return true;
    }
    let text = at.text(report).unwrap_or_default();
    report.push(
        at.error("dilution-implausible", format!("`{text}` is more product than water"))
            .hint("compare figure and units with the label's directions")
            .hint("a product that is used as it is has `dilution: ready to use`"),
    );
    false
}

fn for_water(ratio: Number, basis: Basis) -> Number {
    match basis {
        Basis::AddedTo => ratio,
        Basis::MadeUpTo => ratio * Number::int(2),
    }
}
