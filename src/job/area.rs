//! Areas: floors, walls to a height, ceilings, or so many square feet.

use serde::Serialize;

use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::{self, Extent, Length, Number, parse, range};
use crate::yaml::{Declared, Line, Node, Origin, Shape, custom, keys};

#[derive(Clone, Debug, Serialize)]
pub struct Area {
    pub name: String,
    pub parts: Vec<Part>,
    pub size: quantity::Area,
    pub outdoors: bool,
    /// The room it is in, where the job names one.
    pub room: Option<String>,
    /// Which of the site's air spaces its air belongs to, from 1; `None` in the open. See `job/shared_air.rs`.
    pub air_space: Option<u32>,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

#[derive(Clone, Debug, Serialize)]
pub struct Part {
    pub kind: PartKind,
    pub size: quantity::Area,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartKind {
    Floor,
    /// The walls, to a height.
    Walls,
    /// The ceiling, as large as the floor.
    Ceiling,
    /// Surfaces given by their size alone.
    Surfaces,
}

impl Area {
    /// The room it is in: the one the job names, else the area itself.
    pub fn room(&self) -> &str {
        self.room.as_deref().unwrap_or(&self.name)
    }

    /// The area under a name of the user's; `None` where anything of it cannot be read, since its size would be wrong.
    fn read(name: &str, node: &Node<'_>, report: &mut Diagnostics) -> Option<Area> {
        let before = report.count();
        let keys = AreaKeys::from_node(node, report)?;
        if report.count() > before {
            return None;
        }
        let origin = keys.origin;
        let mut parts = Vec::new();
        if let Some(extent) = &keys.floor {
            parts.push(Part { kind: PartKind::Floor, size: extent.area() });
        }
        if let Some(height) = &keys.walls_to {
            let Some(around) = keys.floor.as_ref().and_then(Extent::perimeter) else {
                let hint = "give the floor as length x width, such as `floor: 12 ft x 8 ft`, or give the walls as `surfaces: 240 ft2`";
                let problem =
                    origin.key("walls_to").error("walls-without-floor", "the way round the walls is not known");
                return report.fail(problem.hint(hint));
            };
            let size = around.as_metres() * height.as_metres();
            parts.push(Part { kind: PartKind::Walls, size: quantity::Area::square_metres(size) });
        }
        if keys.ceiling {
            let Some(extent) = &keys.floor else {
                let message = "the ceiling is as large as the floor, which is not given";
                return report.fail(origin.key("ceiling").error("ceiling-without-floor", message));
            };
            parts.push(Part { kind: PartKind::Ceiling, size: extent.area() });
        }
        parts.extend(keys.surfaces.map(|size| Part { kind: PartKind::Surfaces, size }));
        let size: quantity::Area = parts.iter().map(|p| &p.size).sum();
        if size.as_square_metres() <= &Number::zero() {
            let hint = "give `floor`, `walls_to`, `ceiling` or `surfaces`";
            return report.fail(origin.error("area-of-nothing", format!("the area `{name}` has no size")).hint(hint));
        }
        let (outdoors, room) = (keys.outdoors, keys.room);
        Some(Area { name: name.to_owned(), parts, size, outdoors, room, air_space: None, origin })
    }
}

keys! {
    /// A place to be treated: a floor, walls to a height, a ceiling, or so many square feet.
    struct AreaKeys {
        /// The floor, length by width, or its size. Example: `40 ft x 55 ft`
        floor: Extent = custom(read_floor, || Shape::line("a length by a width, or an area", Line::Text)), optional;
        /// The walls all round, to this height. Example: `3 ft`
        walls_to: Length = &range::HEIGHT, optional;
        /// A ceiling as large as the floor.
        ceiling: bool, or(false, "no");
        /// Surfaces by their size alone. Example: `980 ft2`
        surfaces: quantity::Area = &range::SURFACE, optional;
        /// Whether it lies in the open.
        outdoors: bool, or(false, "no");
        /// The room it is in, such as counters in a hall; else it is a room by itself. Example: `Waiting hall`
        room: String, optional;
    }
    + origin
}

/// All areas of a job, in the order they stand.
#[derive(Debug, Default)]
pub struct Areas {
    pub(super) all: Vec<Area>,
    /// Whether none had a problem of its own.
    pub(super) every: bool,
}

impl Declared for Areas {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Areas> {
        let entries = node.entries(report)?;
        let all: Vec<Area> = entries.iter().filter_map(|(name, node)| Area::read(name, node, report)).collect();
        let every = all.len() == entries.len();
        Some(Areas { all, every })
    }

    fn shape() -> Shape {
        Shape::ByKey { of: Box::new(AreaKeys::shape()), plain: false }
    }
}

/// A floor whose sides, or whose size, can be believed.
fn read_floor(node: &Node<'_>, report: &mut Diagnostics) -> Option<Extent> {
    let extent = node.parse(report, parse::extent)?;
    let text = node.text(report)?;
    let checked = match &extent {
        Extent::Rectangle { length, width } => {
            range::SIDE.check(length, &text).and_then(|()| range::SIDE.check(width, &text))
        }
        Extent::Plain { .. } => Ok(()),
    };
    match checked.and_then(|()| range::SURFACE.check(&extent.area(), &text)) {
        Ok(()) => Some(extent),
        Err(refusal) => report.fail(Diagnostic { code: "out-of-range", ..node.origin().refused(&refusal) }),
    }
}
