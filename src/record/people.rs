//! Who applied: one person is one person, however the log spells the name.

use std::collections::BTreeSet;

use super::verdict::{Rule, Verdict};
use crate::company::Member;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::job::{Job, ServiceLog};
use crate::plan::Plan;

/// Everybody of the visit's crew, and whoever else the log says has mixed. Somebody whom the company file does not know has no
/// licence that anybody knows of.
pub(super) fn people(plan: &Plan, job: &Job, service_log: &ServiceLog) -> Vec<Member> {
    let mut people: Vec<Member> = plan.crew.clone();
    for by in service_log.loads.iter().filter_map(|l| l.by.as_ref()) {
        let member = known(job, by).cloned().unwrap_or_else(|| Member { name: by.clone(), licence: None });
        if !people.iter().any(|known| same_name(&known.name, &member.name)) {
            people.push(member);
        }
    }
    people
}

/// Whom of the crew a log names, by key or by name.
fn known<'a>(job: &'a Job, by: &str) -> Option<&'a Member> {
    let crew = &job.company.crew;
    let by_key = crew.iter().find(|(key, _)| same_name(key, by)).map(|(_, member)| member);
    by_key.or_else(|| crew.values().find(|member| same_name(&member.name, by)))
}

/// Reports a name that is nearly one of the crew's: a certificate would name two people where there is one. Somebody else is entered
/// in the company file; a name that is like none is a person without a licence.
pub(super) fn nearly_known(job: &Job, service_log: &ServiceLog, report: &mut Diagnostics) {
    let mut said = BTreeSet::new();
    for entry in &service_log.loads {
        let Some(by) = entry.by.as_ref().filter(|by| known(job, by).is_none() && said.insert(*by)) else { continue };
        let Some(near) = job.company.crew.values().find(|member| nearly(&member.name, by)) else { continue };
        let message = format!("nobody in the crew is called `{by}`");
        let problem = entry.origin.key("by").error("log-person-unclear", message);
        report.push(
            problem
                .hint(Diagnostic::meant(&near.name))
                .hint("somebody else is entered under `crew` in the company file, with the licence"),
        );
    }
}

/// Whoever the log says has mixed and the company file does not know.
pub fn strangers_in(job: &Job) -> Vec<String> {
    let loads = job.service_log.iter().flat_map(|log| &log.loads);
    let by: BTreeSet<&String> = loads.filter_map(|load| load.by.as_ref()).collect();
    by.into_iter().filter(|by| known(job, by).is_none()).cloned().collect()
}

/// Whether one name leaves out a part of the other, has an initial in the place of one, or a slip in one.
fn nearly(one: &str, other: &str) -> bool {
    let (one, other) = (parts(one), parts(other));
    let alike = |a: &String, b: &String| {
        a == b
            || (a.len() == 1 || b.len() == 1) && a.chars().next() == b.chars().next()
            || strsim::jaro_winkler(a, b) > 0.9
    };
    let (short, long) = if one.len() < other.len() { (&one, &other) } else { (&other, &one) };
    // an initial alone is anybody's
    short.iter().any(|part| part.len() > 1) && short.iter().all(|part| long.iter().any(|other| alike(part, other)))
}

/// A verdict on each of them; none where the company file says that no licence is required.
pub(super) fn judge_crew(people: &[Member], job: &Job) -> Vec<Verdict> {
    if !job.company.licence_required {
        return Vec::new();
    }
    let rule = |member: &Member| Rule::Licence { name: member.name.clone(), licence: member.licence.clone() };
    people.iter().map(|member| Verdict::of(member.licence.is_some(), rule(member))).collect()
}

/// Whether two spellings are of one name: case, dots, commas, spaces, accents and the order of its parts say nothing. `R. Okafor`
/// is `okafor, r`; it is not `Ruth Okafor`, who may be somebody else.
fn same_name(one: &str, other: &str) -> bool {
    let (one, other) = (parts(one), parts(other));
    !one.is_empty() && one == other
}

fn parts(name: &str) -> Vec<String> {
    let plain: String = name.to_lowercase().chars().map(without_accent).collect();
    let parts = plain.split(|c: char| !c.is_alphanumeric()).filter(|part| !part.is_empty());
    let mut parts: Vec<String> = parts.map(str::to_owned).collect();
    parts.sort_unstable();
    parts
}

/// A letter without its accent, for the letters of names in the languages that the program speaks; others stay.
fn without_accent(letter: char) -> char {
    match letter {
        'á' | 'à' | 'â' | 'ä' | 'ã' | 'å' => 'a',
        'é' | 'è' | 'ê' | 'ë' => 'e',
        'í' | 'ì' | 'î' | 'ï' => 'i',
        'ó' | 'ò' | 'ô' | 'ö' | 'õ' => 'o',
        'ú' | 'ù' | 'û' | 'ü' => 'u',
        'ñ' => 'n',
        'ç' => 'c',
        'ÿ' | 'ý' => 'y',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_of_one_name() {
        for other in ["r. okafor", "R Okafor", "OKAFOR, R.", " R.  Okafor ", "R.Okafor", "R. Ókafor"] {
            assert!(same_name("R. Okafor", other), "{other}");
        }
        for other in ["D. Okafor", "Ruth Okafor", "Okafor", "", "R. Okafor Jr"] {
            assert!(!same_name("R. Okafor", other), "{other}");
        }
        assert!(!same_name("", "."));
    }

    #[test]
    fn names_that_may_be_one() {
        for other in ["Dana", "Reyes", "D. Reyes", "Dana Reyees", "dana m. reyes", "Reyes, Danna"] {
            assert!(nearly("Dana Reyes", other), "{other}");
        }
        for other in ["A. Nother", "D.", "", "Ruth Okafor", "Dana Okafor", "Rhea Reyes"] {
            assert!(!nearly("Dana Reyes", other), "{other}");
        }
    }
}
