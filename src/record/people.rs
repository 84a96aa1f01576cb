//! Who applied: one person is one person, however the log spells the name.

use super::verdict::{Rule, Verdict};
use crate::company::Member;
use crate::job::{Job, ServiceLog};
use crate::plan::Plan;

/// Everybody of the visit's crew, and whoever else the log says has mixed. Somebody whom the company file does not know has no
/// licence that anybody knows of.
pub(super) fn people(plan: &Plan, job: &Job, service_log: &ServiceLog) -> Vec<Member> {
    let mut people: Vec<Member> = plan.crew.clone();
    for by in service_log.loads.iter().filter_map(|l| l.by.as_ref()) {
        let crew = &job.company.crew;
        let by_key = crew.iter().find(|(key, _)| same_name(key, by)).map(|(_, member)| member);
        let by_name = || crew.values().find(|member| same_name(&member.name, by));
        let member = by_key.or_else(by_name).cloned().unwrap_or_else(|| Member { name: by.clone(), licence: None });
        if !people.iter().any(|known| same_name(&known.name, &member.name)) {
            people.push(member);
        }
    }
    people
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
}
