//! Nobody is in uncleared air without a respirator, over random jobs.

use std::path::Path;

use jiff::civil::{DateTime, date};
use proptest::prelude::*;

use super::super::{Plan, Reentry, TreatmentPlan, plan};
use crate::company::Equipment;
use crate::diagnostic::Diagnostics;
use crate::job::Job;
use crate::yaml::Source;

/// Sprayers of `tests/cases/unsafe/air.yaml`, with whether they put droplets into the air, as their entry there says.
const SPRAYERS: [(&str, bool); 8] = [
    ("mister", true),
    ("fogger", true),
    ("charged", true),
    ("fine-bottle", true),
    ("fine-foamer", true),
    ("pump", false),
    ("foamer", false),
    ("cloth", false),
];

/// Areas of every job: name, whether in the open, and the room that is written for it.
const AREAS: [(&str, bool, Option<&str>); 5] = [
    ("Hall", false, None),
    ("Office", false, None),
    ("Desks", false, Some("Office")),
    ("Store", false, None),
    ("Yard", true, None),
];

/// A treatment: product, sprayer, areas, and whether respirators are asked for.
#[derive(Clone, Debug)]
struct Written {
    peroxide: bool,
    sprayer: usize,
    areas: Vec<usize>,
    respirators: bool,
}

impl Written {
    /// The peroxide's directions know no sprayer but these two.
    fn sprayer(&self) -> (&'static str, bool) {
        match (self.peroxide, SPRAYERS[self.sprayer]) {
            (false, sprayer) => sprayer,
            (true, (_, true)) => SPRAYERS[0],
            (true, (_, false)) => SPRAYERS[7],
        }
    }
}

/// Rooms that share air: all, each its own, or Hall and Store together.
const SPACES: [Option<&[&[&str]]>; 3] =
    [None, Some(&[&["Hall"], &["Office"], &["Store"]]), Some(&[&["Hall", "Store"], &["Office"]])];

/// Whether two areas share air, worked out anew from what the job file says.
fn share(spaces: usize, one: usize, other: usize) -> bool {
    let ((one, open, room), (other, open_too, room_too)) = (AREAS[one], AREAS[other]);
    let (room, room_too) = (room.unwrap_or(one), room_too.unwrap_or(other));
    let together = |space: &&[&str]| space.contains(&room) && space.contains(&room_too);
    !open && !open_too && SPACES[spaces].is_none_or(|all| all.iter().any(together))
}

fn text(treatments: &[Written], spaces: usize, air: &str) -> String {
    let names = |of: &[usize]| of.iter().map(|i| AREAS[*i].0).collect::<Vec<_>>().join(", ");
    let mut text = String::from(
        "job: R-1\ncompany: air.yaml\nclient: { name: C }\nvisit: { start: 2026-05-04T18:00, crew: [ambrose] }\nlabel_stock: roll\n",
    );
    text += &format!("site:\n  name: S\n  address: A\n{air}");
    if let Some(all) = SPACES[spaces] {
        let lists: Vec<String> = all.iter().map(|space| format!("[{}]", space.join(", "))).collect();
        text += &format!("  air_spaces: [{}]\n", lists.join(", "));
    }
    text += "treatments:\n";
    for written in treatments {
        let product = if written.peroxide { "peroxide" } else { "quat" };
        let respirators = if written.respirators { ", in_mist: respirator" } else { "" };
        text += &format!(
            "  - {{ product: {product}, directions: any, sprayer: {}, areas: [{}]{respirators} }}\n",
            written.sprayer().0,
            names(&written.areas)
        );
    }
    // every area is treated by somebody: the last treatment is in the open and harms nobody
    text += "  - { product: quat, directions: any, sprayer: cloth, areas: [";
    text += &names(&[0, 1, 2, 3, 4]);
    text += "] }\nareas:\n";
    for (name, open, room) in AREAS {
        let open = if open { ", outdoors: yes" } else { "" };
        let room = room.map(|room| format!(", room: {room}")).unwrap_or_default();
        text += &format!("  {name}: {{ surfaces: 120 ft2{open}{room} }}\n");
    }
    text
}

fn planned(text: String) -> Plan {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/unsafe/random.yaml");
    let mut report = Diagnostics::new();
    let source = Source::from_text(&file, text.clone(), &mut report).expect("YAML");
    let job = Job::from_source(&source, &mut report);
    let plan = job.and_then(|job| plan(&job, &mut report));
    plan.unwrap_or_else(|| panic!("{text}\n{:?}", report.problems()))
}

fn has_respirator(plan: &TreatmentPlan) -> bool {
    plan.equipment.iter().any(|worn| worn.item == Equipment::Respirator)
}

fn emptied(plan: &TreatmentPlan) -> DateTime {
    plan.loads.iter().map(|load| load.empty_at).max().expect("a load")
}

fn written() -> impl Strategy<Value = Written> {
    let areas = proptest::sample::subsequence(vec![0usize, 1, 2, 3, 4], 1..=3).prop_shuffle();
    (any::<bool>(), 0..SPRAYERS.len(), areas, any::<bool>())
        .prop_map(|(peroxide, sprayer, areas, respirators)| Written { peroxide, sprayer, areas, respirators })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn nobody_is_in_uncleared_air_without_a_respirator(
        mut all in proptest::collection::vec(written(), 1..5),
        spaces in 0..SPACES.len(),
        air in proptest::sample::select(vec!["", "  air: { changes_per_hour: 6, mixing_factor: 3, cleared: 99 % }\n", "  air: { changes_per_hour: 40 }\n"]),
    ) {
        let plan = planned(text(&all, spaces, air));
        all.push(Written { peroxide: false, sprayer: 7, areas: vec![0, 1, 2, 3, 4], respirators: false });
        for (later, second) in plan.treatments.iter().enumerate() {
            for (earlier, first) in plan.treatments[..later].iter().enumerate() {
                prop_assert!(second.begins >= emptied(first), "one crew");
                let shares = all[earlier].areas.iter().any(|a| all[later].areas.iter().any(|b| share(spaces, *a, *b)));
                if !shares {
                    continue;
                }
                if all[earlier].sprayer().1 {
                    prop_assert_eq!(first.air.is_some(), !air.is_empty());
                    let cleared = first.air.as_ref().is_some_and(|air| second.begins >= air.clear_at);
                    prop_assert!(cleared || has_respirator(second), "{}", text(&all, spaces, air));
                } else if all[later].sprayer().1 && !has_respirator(first) {
                    // whoever looks at the first one's surfaces is gone before the mist is made
                    prop_assert!(second.loads[0].mixed_at >= first.wet_until);
                }
            }
        }
        for treatment in &plan.treatments {
            let cleared = treatment.air.as_ref().map_or(treatment.wet_until, |air| air.clear_at);
            let ends = [treatment.wet_until, emptied(treatment), cleared];
            prop_assert!(ends.iter().all(|end| Reentry::At(*end) <= plan.reentry));
            prop_assert_eq!(treatment.reentry, plan.reentry);
            // all directions here give an interval
            prop_assert!(plan.reentry != Reentry::NotKnown);
        }
    }
}

const KNOWN: &str = "  air: { changes_per_hour: 6, mixing_factor: 3, cleared: 99 % }\n";

/// A mist of the quat in the hall and the treatment after it: when that begins, whether it has a respirator, and when the
/// mist has cleared.
fn after_mist(second: (bool, usize), respirators: bool, spaces: usize, air: &str) -> (DateTime, bool, DateTime) {
    let mist = Written { peroxide: false, sprayer: 0, areas: vec![0], respirators: false };
    let second = Written { peroxide: second.0, sprayer: second.1, areas: vec![1], respirators };
    let plan = planned(text(&[mist, second], spaces, air));
    let (first, second) = (&plan.treatments[0], &plan.treatments[1]);
    let cleared = first.air.as_ref().map_or(DateTime::MIN, |air| air.clear_at);
    assert!(second.begins >= emptied(first));
    (second.begins, has_respirator(second), cleared)
}

const CLOTH: usize = 7;

#[test]
fn the_next_treatment_waits_for_the_minute_in_which_the_air_has_cleared() {
    // 120 ft² at 200 ft²/gal is 0.6 gal, 0.63 with the reserve: at 24 fl oz/min 3 min 21.6 s after 10 min of mixing. 99 %
    // at 6 air changes an hour and mixing factor 3 takes 139 minutes (46.05 × 3, rounded up).
    let (begins, respirator, cleared) = after_mist((false, CLOTH), false, 0, KNOWN);
    assert_eq!(begins, date(2026, 5, 4).at(20, 33, 0, 0));
    assert!(cleared <= begins && (begins - cleared).total(jiff::Unit::Second).unwrap() < 60.0);
    assert!(!respirator);
}

#[test]
fn who_waits_and_who_wears_a_respirator() {
    for (second, respirators, spaces, air, waits, wears) in [
        // separate air
        ((false, CLOTH), false, 1, KNOWN, false, false),
        // where the job asks for them, or nobody knows when the air clears
        ((false, CLOTH), true, 0, KNOWN, false, true),
        ((false, CLOTH), false, 0, "", true, true),
        // a mist waits for that of another product and not for its own
        ((true, 0), false, 0, KNOWN, true, true),
        ((false, 1), false, 0, KNOWN, false, true),
    ] {
        let (begins, respirator, cleared) = after_mist(second, respirators, spaces, air);
        assert_eq!((begins >= cleared, respirator), (waits, wears), "{second:?} {spaces} {air}");
    }
}
