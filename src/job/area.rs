//! Areas: floors, walls to a height, ceilings, or so many square feet.

use serde::Serialize;

use crate::quantity::{self, Extent, Number, parse, range};
use crate::report::Report;
use crate::yaml::{Node, Origin};

/// A place to be treated.
#[derive(Clone, Debug, Serialize)]
pub struct Area {
    /// Its name.
    pub name: String,
    /// What of it is treated.
    pub parts: Vec<Part>,
    /// All parts together.
    pub size: quantity::Area,
    /// Whether it lies in the open.
    pub outdoors: bool,
    /// The room it is in, where the job names one.
    pub room: Option<String>,
    /// Which of the site's air spaces its air belongs to, from 1; `None` in the open. See `job/shared_air.rs`.
    pub air_space: Option<u32>,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

/// A part of an area.
#[derive(Clone, Debug, Serialize)]
pub struct Part {
    /// Which part.
    pub kind: PartKind,
    /// How large.
    pub size: quantity::Area,
}

/// Which part of an area.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartKind {
    /// The floor.
    Floor,
    /// The walls, to a height.
    Walls,
    /// The ceiling, as large as the floor.
    Ceiling,
    /// Surfaces given by their size alone.
    Surfaces,
}

impl Area {
    /// Where it stands in the job file.
    pub fn origin(&self) -> &Origin {
        &self.origin
    }

    /// The room it is in: the one the job names, else the area itself.
    pub fn room(&self) -> &str {
        self.room.as_deref().unwrap_or(&self.name)
    }

    pub(super) fn read(name: &str, node: &Node<'_>, report: &mut Report) -> Option<Area> {
        let fields = node.fields(&["floor", "walls_to", "ceiling", "surfaces", "outdoors", "room"], report)?;
        let floor = fields.get("floor");
        let extent = floor.as_ref().and_then(|n| read_floor(n, report));
        let mut parts = Vec::new();
        if let Some(extent) = &extent {
            parts.push(Part { kind: PartKind::Floor, size: extent.area() });
        }
        if let Some(n) = fields.get("walls_to") {
            let height = n.within(report, &range::HEIGHT)?;
            match extent.as_ref().map(Extent::perimeter) {
                Some(Some(around)) => {
                    let size = around.as_metres() * height.as_metres();
                    parts.push(Part { kind: PartKind::Walls, size: quantity::Area::square_metres(size) });
                }
                _ => {
                    let hint = "give the floor as length x width, such as `floor: 12 ft x 8 ft`, or give the walls as `surfaces: 240 ft2`";
                    report.push(n.error("walls-without-floor", "the way round the walls is not known").hint(hint));
                    return None;
                }
            }
        }
        if let Some(n) = fields.get("ceiling")
            && n.flag(report)?
        {
            match &extent {
                Some(extent) => parts.push(Part { kind: PartKind::Ceiling, size: extent.area() }),
                None => {
                    report.push(
                        n.error("ceiling-without-floor", "the ceiling is as large as the floor, which is not given"),
                    );
                    return None;
                }
            }
        }
        if let Some(n) = fields.get("surfaces") {
            parts.push(Part { kind: PartKind::Surfaces, size: n.within(report, &range::SURFACE)? });
        }
        if floor.is_some() && extent.is_none() {
            return None;
        }
        let outdoors = fields.get("outdoors").map_or(Some(false), |n| n.flag(report))?;
        let room = fields.text("room", report);
        let size: quantity::Area = parts.iter().map(|p| &p.size).sum();
        if size.as_square_metres() <= &Number::zero() {
            let hint = "give `floor`, `walls_to`, `ceiling` or `surfaces`";
            report.push(node.error("area-of-nothing", format!("the area `{name}` has no size")).hint(hint));
            return None;
        }
        Some(Area { name: name.to_owned(), parts, size, outdoors, room, air_space: None, origin: node.origin() })
    }
}

/// A floor whose sides, or whose size, can be believed.
fn read_floor(node: &Node<'_>, report: &mut Report) -> Option<Extent> {
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
        Err(refusal) => {
            let problem = node.error("out-of-range", refusal.message);
            report.push(refusal.hints.into_iter().fold(problem, |problem, hint| problem.hint(hint)));
            None
        }
    }
}
