//! The plan: every number of a job, worked out once. Documents read it and work out nothing.

mod air;
mod beside;
mod caution;
mod cautions;
mod clock;
mod containers;
mod dose;
mod equipment;
mod flammable;
mod hazards;
mod incompatible;
mod load_out;
mod loads;
mod make;
mod reentry;
mod residue;
mod shared_air;
mod strength;
mod strip;
mod treatment;
mod wetness;

use jiff::civil::DateTime;
use serde::Serialize;

pub use air::{AirPlan, Settling};
pub use caution::{Caution, Fact, KINDS, Kind, Severity, Shown, find as find_caution};
pub use clock::{AreaTimes, after, whole_minute};
pub use dose::DosePlan;
pub use equipment::Worn;
pub use hazards::{HazardSource, Hazards};
pub use load_out::{LoadOut, LoadedProduct, Lot, Strips, load_out};
pub use make::plan;
pub use reentry::{Reentry, Release};
pub use residue::{Residue, Rinse};
pub use strip::{Passing, StripPlan};
pub use wetness::{Wetness, WetnessBasis};

use crate::calc::loads::FinerMarks;
use crate::calc::strip::Bounds;
use crate::calc::{Amount, Ratio};
use crate::company::{Airborne, Company, Equipment, LabelSignal, Member, Method, PageSize, Regime, Surface};
use crate::job::{Client, Part, PartKind, Site};
use crate::quantity::{Area, Basis, Dilution, Film, Flow, Length, Number, Pressure, Share, Strength, Time, Volume};

/// Every number of a job. Its JSON form is what `decant plan --json` prints and what the record digests.
#[derive(Clone, Debug, Serialize)]
pub struct Plan {
    pub form: &'static str,
    pub job: String,
    pub company: Company,
    pub client: Client,
    pub site: Site,
    /// When work begins, in the site's own time.
    pub start: DateTime,
    pub crew: Vec<Member>,
    pub notes: Vec<String>,
    pub page: PageSize,
    pub regime: Regime,
    pub treatments: Vec<TreatmentPlan>,
    pub equipment: Vec<Equipment>,
    pub sprayed_by: DateTime,
    pub wet_until: DateTime,
    /// When people may come back to the site, all of it: the latest of the labels' intervals, the end of the last contact
    /// time, the time at which a mist has cleared, and the end of the work.
    pub reentry: Reentry,
    pub cautions: Vec<Caution>,
}

#[derive(Clone, Debug, Serialize)]
pub struct TreatmentPlan {
    /// Its place in the job, from 1.
    pub number: usize,
    /// Which treatments are done while this one is, where the job has some side by side.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub beside: Vec<usize>,
    pub product: ProductFacts,
    pub directions: DirectionFacts,
    pub sprayer: SprayerFacts,
    pub mixed_in: Option<VesselFacts>,
    pub filled: VesselFacts,
    /// How near loads must be to the label's dose.
    pub dose: DosePlan,
    /// Whether loads are smaller than the vessel so that each is empty while its solution keeps.
    pub cut_for_keeps: bool,
    /// The measure that would make fewer loads, where coarse marks leave the vessel less than three quarters full.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finer_marks: Option<FinerMarks>,
    pub ratio: Ratio,
    pub strength: StrengthPlan,
    /// What any reading of its strength is compared with, by strip or by instrument.
    pub bounds: Bounds,
    pub strip: Option<StripPlan>,
    pub film: Film,
    pub need: Need,
    pub loads: Vec<LoadPlan>,
    pub areas: Vec<AreaPlan>,
    pub size: Area,
    pub begins: DateTime,
    pub spraying: Time,
    pub refills: usize,
    pub wet_until: DateTime,
    /// When people may come back: one time for the whole site, [`Plan::reentry`], the same in every treatment. Rooms share
    /// air and crews, so that no earlier time may be taken for one.
    pub reentry: Reentry,
    /// When the first load must be thrown away, where the product file says how long it keeps.
    pub discard_after: Option<DateTime>,
    pub rinse: Option<Rinse>,
    pub tank_rinsed: bool,
    /// The strongest load compared with the limits for surfaces that food touches; `None` where it touches none.
    pub residue: Option<Residue>,
    /// How long the film lasts, and what follows; `None` where nothing can be said.
    pub wetness: Option<Wetness>,
    /// When the mist has cleared; `None` where none is made indoors or the air changes are not known.
    pub air: Option<AirPlan>,
    pub settling: Option<Settling>,
    /// When floors have dried, by the long estimate: the wet-floor signs stay at least until then.
    pub floor_dry: Option<DateTime>,
    pub hazards: Hazards,
    pub equipment: Vec<Worn>,
    pub stock: String,
}

#[derive(Clone, Debug, Serialize)]
pub struct ProductFacts {
    pub key: String,
    pub name: String,
    pub kind: crate::company::ProductKind,
    pub registration: Option<String>,
    pub label_signal: Option<LabelSignal>,
    pub never_with: Vec<String>,
    pub sds_link: Option<String>,
    /// How long its use solution keeps.
    pub keeps: Option<Time>,
}

#[derive(Clone, Debug, Serialize)]
pub struct DirectionFacts {
    pub key: String,
    pub title: String,
    pub dilution: Dilution,
    /// The upper end of a range: the most that the label allows.
    pub dilution_most: Option<Dilution>,
    /// How long the surface must stay visibly wet.
    pub contact_time: Time,
    pub surface: Surface,
    pub reentry: Option<Time>,
    /// Whether the label lets people come back when the surfaces are dry, which no clock says.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub reentry_when_dry: bool,
}

#[derive(Clone, Debug, Serialize)]
pub struct SprayerFacts {
    pub key: String,
    pub name: String,
    pub method: Method,
    pub tank: Volume,
    /// What one of them puts out; worked out from pace and film where the file gives no flow.
    pub flow: Flow,
    pub count: u32,
    pub droplet: Option<Length>,
    pub pressure: Option<Pressure>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct VesselFacts {
    pub name: String,
    pub holds: Volume,
}

#[derive(Clone, Debug, Serialize)]
pub struct StrengthPlan {
    pub of: Measured,
    pub label: Strength,
    /// As mixed in the weakest load, after rounding to what can be measured. Never below `label`.
    pub mixed: Strength,
    /// As mixed in the strongest load.
    pub strongest: Strength,
    pub stated: Option<Strength>,
    pub actives: Vec<ActiveStrength>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measured {
    Actives,
    AvailableChlorine,
}

#[derive(Clone, Debug, Serialize)]
pub struct ActiveStrength {
    pub name: String,
    pub cas: Option<String>,
    pub by_volume: Strength,
    pub milligrams_per_kilogram: Option<Number>,
    /// Share of the solution: by weight where the density is known, else grams in a millilitre.
    pub share: Share,
}

#[derive(Clone, Debug, Serialize)]
pub struct Need {
    pub areas: Volume,
    pub rewet: Volume,
    pub laid: Volume,
    pub reserve: Volume,
    /// As a share of what is laid.
    pub reserve_share: Share,
    /// What stays in the hoses.
    pub hose: Volume,
    pub total: Volume,
    pub mixed: Volume,
    pub product: Amount,
}

#[derive(Clone, Debug, Serialize)]
pub struct LoadPlan {
    /// Its place in the treatment, from 1.
    pub number: usize,
    /// Which of several sprayers it is for, from 1.
    pub sprayer: u32,
    pub water: Volume,
    pub product: Amount,
    pub solution: Volume,
    pub strength: Strength,
    pub factor: Number,
    pub actives: Vec<ActiveStrength>,
    /// How many containers it fills, each with a label of its own: 1, or as many as the mix is poured into.
    pub containers: usize,
    pub spraying: Time,
    pub mixed_at: DateTime,
    pub empty_at: DateTime,
    /// When what is left of it must be thrown away, where the product file says how long it keeps.
    pub discard_after: Option<DateTime>,
}

#[derive(Clone, Debug, Serialize)]
pub struct AreaPlan {
    pub name: String,
    pub parts: Vec<Part>,
    pub size: Area,
    pub outdoors: bool,
    pub room: Option<String>,
    /// Which of the site's air spaces its air belongs to, from 1; `None` in the open.
    pub air_space: Option<u32>,
    pub first: Volume,
    pub solution: Volume,
    pub spraying: Time,
    #[serde(flatten)]
    pub times: AreaTimes,
}

impl AreaPlan {
    /// The room it is in: the one the job names, else the area itself.
    pub fn room(&self) -> &str {
        self.room.as_deref().unwrap_or(&self.name)
    }
}

/// The most that is called a bottle, in milliliters; no rule says so.
const BOTTLE: i64 = 1500;

/// What the work does to the floor. No published rule; chosen because it protects.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Floor {
    /// It is treated, or what is sprayed reaches it: signs stand until it is dry.
    Wet,
    /// A wipe or a bottle on surfaces alone: what drips is wiped up.
    Drips,
    /// Things are treated in a bath.
    Dry,
}

impl SprayerFacts {
    /// Whether it is small enough to be called a bottle.
    pub fn is_bottle(&self) -> bool {
        *self.tank.as_millilitres() <= BOTTLE
    }

    pub fn airborne(&self) -> Option<Airborne> {
        Airborne::of(self.method, self.droplet.as_ref())
    }
}

impl TreatmentPlan {
    /// How many containers all loads fill: each carries a label.
    pub fn containers(&self) -> usize {
        self.loads.iter().map(|load| load.containers).sum()
    }

    /// What it does to the floor.
    pub fn floor(&self) -> Floor {
        let is_small = self.areas.iter().all(|area| area.parts.iter().all(|part| part.kind == PartKind::Surfaces));
        match self.sprayer.method {
            Method::Dip => Floor::Dry,
            Method::Wipe if is_small => Floor::Drips,
            Method::Spray if is_small && self.sprayer.is_bottle() && self.sprayer.airborne().is_none() => Floor::Drips,
            _ => Floor::Wet,
        }
    }

    /// Whether the dilution counts water or solution.
    pub fn basis(&self) -> Option<Basis> {
        self.directions.dilution.basis()
    }
}
