//! Which areas share air.
//!
//! By default all indoor areas of a site do: no published rule says how far a mist goes into the next room, and this is the side
//! that protects. `site.air_spaces` can list air spaces, each a list of rooms; then every indoor room must stand in one. An area
//! is in the room that its `room` names, else it is a room by itself. Outdoor areas are in no air space.

use std::collections::{BTreeMap, BTreeSet};

use super::Area;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::yaml::{At, Declared, Line, Node, Origin, Shape, suggestion, words};

words! {
    /// What is done where the mist of an earlier treatment is still in the air of the next.
    pub enum InMist {
        /// it begins once the air has cleared, where it is known when that is; else respirators are worn
        Wait = "wait",
        /// it does not wait: everyone in that air wears a respirator
        Respirator = "respirator",
    }
}

/// The rooms of each air space.
#[derive(Clone, Debug)]
pub struct AirSpaces {
    spaces: Vec<Vec<At<String>>>,
    /// Whether every name in it could be read.
    sound: bool,
    origin: Origin,
}

pub(super) fn spaces_shape() -> Shape {
    let rooms = || Box::new(Shape::line("a room", Line::Any));
    Shape::List { of: Box::new(Shape::List { of: rooms(), or_one: false }), or_one: false }
}

pub(super) fn read_spaces(node: &Node<'_>, report: &mut Diagnostics) -> Option<AirSpaces> {
    let before = report.count();
    let mut spaces = Vec::new();
    for space in node.items(report).unwrap_or_default() {
        if space.is_scalar() {
            // `[Hall, Office]` could mean that they share air, or that they do not
            let hint = "write `air_spaces: [[Hall, Office], [Restrooms]]`: each inner list is one air";
            report.push(space.error("not-a-list", "an air space is a list of rooms").hint(hint));
            continue;
        }
        let rooms = space.items(report).unwrap_or_default();
        spaces.push(rooms.iter().filter_map(|room| At::from_node(room, report)).collect());
    }
    Some(AirSpaces { spaces, sound: report.count() == before, origin: node.origin() })
}

/// Gives each indoor area the number of its air space, from 1. `every_area_read` is false where an area had a problem of
/// its own: its room may then be missing here and is not reported again.
pub(super) fn assign(spaces: Option<&AirSpaces>, areas: &mut [Area], every_area_read: bool, report: &mut Diagnostics) {
    for area in areas.iter().filter(|area| area.outdoors) {
        if area.room.is_some() {
            let message = format!("the area `{}` lies in the open and is in no room", area.name);
            let problem = area.origin.key("room").error("room-in-the-open", message);
            report.push(problem.hint("take out `room`, or `outdoors`"));
        }
    }
    let before = report.problems().len();
    let space_of_room = match spaces {
        Some(spaces) => spaces_of_rooms(spaces, areas, every_area_read, report),
        None => BTreeMap::new(),
    };
    let every_space_read = report.problems().len() == before;
    for area in areas.iter_mut().filter(|area| !area.outdoors) {
        let listed = space_of_room.get(area.room()).copied();
        area.air_space = Some(listed.unwrap_or(1));
    }
    // a misspelt room would be missing too
    if let Some(listed) = spaces.filter(|spaces| spaces.sound && every_area_read && every_space_read) {
        let indoors = areas.iter().filter(|area| !area.outdoors);
        let unlisted: BTreeSet<&str> =
            indoors.map(Area::room).filter(|room| !space_of_room.contains_key(*room)).collect();
        for room in unlisted {
            let message = format!("no air space holds the room `{room}`");
            let hint = "once air spaces are listed, each indoor room stands in one of them: \
                        with the rooms whose air it shares, or in a list of its own";
            report.push(listed.origin.error("room-without-air", message).hint(hint));
        }
    }
}

/// The space of each room, from 1.
fn spaces_of_rooms(
    listed: &AirSpaces,
    areas: &[Area],
    every_area_read: bool,
    report: &mut Diagnostics,
) -> BTreeMap<String, u32> {
    let mut rooms: BTreeMap<&str, bool> = BTreeMap::new();
    for area in areas {
        *rooms.entry(area.room()).or_default() |= !area.outdoors;
    }
    let mut spaces = BTreeMap::new();
    for (number, space) in (1..).zip(&listed.spaces) {
        for At { value: room, origin: item } in space {
            match rooms.get(room.as_str()) {
                Some(true) => {
                    if spaces.insert(room.clone(), number).is_some() {
                        let message = format!("the room `{room}` stands in the air spaces twice");
                        let hint = "rooms that share air with one another stand in one list";
                        report.push(item.error("room-twice", message).hint(hint));
                    }
                }
                Some(false) => {
                    let message = format!("`{room}` lies in the open and is in no air space");
                    report.push(item.error("room-in-the-open", message).hint("take it out of `air_spaces`"));
                }
                None if !every_area_read => {}
                None => report.push(unknown(item, room, areas, &rooms)),
            }
        }
    }
    spaces
}

fn unknown(item: &Origin, room: &str, areas: &[Area], rooms: &BTreeMap<&str, bool>) -> Diagnostic {
    let problem = item.error("room-unknown", format!("no area of this job is in a room `{room}`"));
    if let Some(area) = areas.iter().find(|area| area.name == room) {
        return problem.hint(format!("the area `{room}` is in the room `{}`: name that", area.room()));
    }
    let known: Vec<&str> = rooms.keys().copied().collect();
    problem.hint(suggestion(room, &known, "there are"))
}
