//! What a treatment is mixed in and poured into: one mix fills many bottles.

use super::treatment::unknown;
use crate::company::{CompanyFile, Vessel};
use crate::diagnostic::Diagnostics;
use crate::yaml::At;

/// One vessel for the mix, others that it is poured into.
#[derive(Clone, Debug)]
pub struct Pour {
    pub mixed_in_key: String,
    pub mixed_in: Vessel,
    pub into_key: String,
    /// What it is poured into, all of it: each of these carries a label.
    pub into: Vessel,
}

/// `mixed_in` and `poured_into` of a treatment; poured into the treatment's own sprayer if nothing else is named. `None` where the
/// solution is mixed in the sprayer itself, or where a name is wrong, which is reported.
pub(super) fn read_pour(
    (mixed, poured): (Option<&At<String>>, Option<&At<String>>),
    sprayer: &str,
    company: &CompanyFile,
    report: &mut Diagnostics,
) -> Option<Pour> {
    let Some(mixed) = mixed else {
        if let Some(poured) = poured {
            let message = "it is not said what the solution is mixed in before it is poured";
            let hint = "add `mixed_in`, a vessel or sprayer of the company file";
            report.push(poured.origin.error("poured-from-nothing", message).hint(hint));
        }
        return None;
    };
    let (mixed_in_key, mixed_in) = vessel(mixed, company, report)?;
    let (into_key, into) = match poured {
        Some(named) => vessel(named, company, report)?,
        None => (sprayer.to_owned(), Vessel::of_sprayer(company.sprayers.get(sprayer)?)),
    };
    if mixed_in.holds < into.holds {
        let message = format!("`{}` holds less than `{}`, which is filled from it", mixed_in.name, into.name);
        return report.fail(mixed.origin.error("mixed-in-too-small", message).hint("mix in the larger vessel"));
    }
    Some(Pour { mixed_in_key, mixed_in, into_key, into })
}

/// A vessel or a sprayer's tank, by key.
fn vessel(named: &At<String>, company: &CompanyFile, report: &mut Diagnostics) -> Option<(String, Vessel)> {
    let key = named.value.clone();
    if let Some(vessel) = company.vessels.get(&key) {
        return Some((key, vessel.clone()));
    }
    if let Some(sprayer) = company.sprayers.get(&key) {
        return Some((key, Vessel::of_sprayer(sprayer)));
    }
    // What stands in the file and could not be read has been reported there.
    let unread = |group| company.source.holds(&[group, &key]);
    if !unread("vessels") && !unread("sprayers") {
        let message = format!("no vessel or sprayer `{key}` is in the company file");
        let known = company.vessels.keys().chain(company.sprayers.keys());
        report.push(unknown(named, "vessel-unknown", message, known));
    }
    None
}
