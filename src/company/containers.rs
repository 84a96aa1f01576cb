//! The containers that a product is bought in.

use crate::calc::Amount;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::{Form, Number, QuantityError, parse, range};
use crate::yaml::Node;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Container {
    /// What it holds when it is full; more than nothing.
    pub holds: Amount,
    /// As the company file writes it.
    pub written: String,
}

/// Reads `containers`: one size or a list, volumes of a liquid, weights of a powder, numbers of tablets. The largest
/// comes first.
pub(super) fn read_containers(node: &Node<'_>, form: Form, report: &mut Diagnostics) -> Vec<Container> {
    let mut sizes: Vec<Container> = Vec::new();
    for item in node.items_or_one(report).unwrap_or_default() {
        let Some(holds) = item.parse(report, |text| size(text, form)) else {
            continue;
        };
        let Some(written) = item.text(report) else { continue };
        if !holds.value().is_positive() {
            report.push(item.error("out-of-range", "a container holds more than nothing"));
        } else if let Err(refusal) = believed(&holds, &written) {
            report.push(Diagnostic { code: "out-of-range", ..item.origin().refused(&refusal) });
        } else if sizes.iter().any(|other| other.holds == holds) {
            report.push(item.error("container-twice", format!("the size `{written}` is given twice")));
        } else {
            sizes.push(Container { holds, written });
        }
    }
    sizes.sort_by_key(|size| std::cmp::Reverse(size.holds.value()));
    sizes
}

/// Refuses a size that no container has.
fn believed(holds: &Amount, written: &str) -> Result<(), QuantityError> {
    match holds {
        Amount::Liquid(volume) => range::LIQUID_CONTAINER.check(volume, written),
        Amount::Powder(mass) => range::POWDER_CONTAINER.check(mass, written),
        // A count is bounded where it is read.
        Amount::Tablets(_) | Amount::None => Ok(()),
    }
}

fn size(text: &str, form: Form) -> Result<Amount, QuantityError> {
    Ok(match form {
        Form::Liquid | Form::ReadyToUse => Amount::Liquid(parse::volume(text)?),
        Form::Powder => Amount::Powder(parse::mass(text)?),
        Form::Tablet => {
            let bare = text.trim().trim_end_matches("tablets").trim_end_matches("tablet");
            Amount::Tablets(Number::int(i64::from(parse::count(bare.trim())?)))
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::yaml::Source;
    use std::path::Path;

    fn read(text: &str, form: Form) -> (Vec<String>, usize) {
        let mut report = Diagnostics::new();
        let source = Source::from_text(Path::new("c.yaml"), format!("containers: {text}\n"), &mut report).unwrap();
        let fields = source.root().fields(&["containers"], &mut report).unwrap();
        let sizes = read_containers(&fields.get("containers").unwrap(), form, &mut report);
        (sizes.into_iter().map(|size| size.written).collect(), report.problems().len())
    }

    #[test]
    fn the_largest_comes_first_and_stays_as_written() {
        assert_eq!(read("[1 qt, 5 L, 1 gal]", Form::Liquid), (vec!["5 L".into(), "1 gal".into(), "1 qt".into()], 0));
        assert_eq!(read("250 tablets", Form::Tablet), (vec!["250 tablets".into()], 0));
        assert_eq!(read("[1 kg, 20 oz wt]", Form::Powder).1, 0);
    }

    #[test]
    fn what_is_no_size_is_told() {
        for (text, form) in [
            ("[1 gal, 4 qt]", Form::Liquid),
            ("0 L", Form::Liquid),
            ("5 kg", Form::Liquid),
            ("1 gal", Form::Powder),
            ("a tub", Form::Tablet),
        ] {
            assert_eq!(read(text, form).1, 1, "{text}");
        }
    }
}
