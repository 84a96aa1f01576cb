//! The plan: every number of a job, worked out once. Documents read it and work out nothing.

mod air;
mod caution;
mod cautions;
mod clock;
mod dose;
mod dose_cautions;
mod equipment;
mod fact;
mod file_facts;
mod flammable;
mod food_code;
mod hazards;
mod lay;
mod load_out;
mod long;
mod make;
mod meetings;
mod mix;
mod residue;
mod returns;
mod shared_air;
mod strength;
mod strip;
mod tanks;
mod told;
mod treatment;
mod wetness;

use jiff::civil::DateTime;
use serde::Serialize;

pub use air::{AirPlan, Settling};
pub use caution::{Caution, KINDS, Kind, Severity, Shown, find as find_caution};
pub use clock::{AreaTimes, whole_minute};
pub use dose::DosePlan;
pub use equipment::Worn;
pub use fact::Fact;
pub use hazards::{Computed, HazardSource, Hazards};
pub use load_out::{Apart, LoadOut, LoadedProduct, Lot, Strips, load_out};
pub use make::plan;
pub use residue::{Residue, Rinse};
pub use strip::{Passes, StripPlan};
pub use wetness::{Wetness, WetnessBasis};

use crate::calc::strip::Bounds;
use crate::calc::{Amount, Ratio};
use crate::catalog::{Airborne, Company, Equipment, LabelSignal, Member, Method, PageSize, Regime, Surface};
use crate::job::{Client, Part, Site};
use crate::quantity::{Area, Basis, Dilution, Film, Flow, Length, Number, Pressure, Share, Strength, Time, Volume};

/// Every number of a job. Its JSON form is what `decant plan --json` prints and what the record digests.
#[derive(Clone, Debug, Serialize)]
pub struct Plan {
    /// The form of this JSON.
    pub form: &'static str,
    /// The job's number.
    pub job: String,
    /// Who does the work.
    pub company: Company,
    /// For whom.
    pub client: Client,
    /// Where.
    pub site: Site,
    /// When work begins, in the site's own time.
    pub start: DateTime,
    /// Who goes.
    pub crew: Vec<Member>,
    /// Remarks for the crew.
    pub notes: Vec<String>,
    /// Paper of the sheets.
    pub page: PageSize,
    /// Whose rules hazards and labels follow.
    pub regime: Regime,
    /// The treatments, in order.
    pub treatments: Vec<TreatmentPlan>,
    /// What to wear, all treatments together.
    pub equipment: Vec<Equipment>,
    /// When the last load has been sprayed.
    pub sprayed_by: DateTime,
    /// When the last surface may dry.
    pub wet_until: DateTime,
    /// When people may come back to the site, all of it: the latest of the labels' intervals, the end of the last contact
    /// time, the time at which a mist has cleared, and the end of the work.
    pub reentry: DateTime,
    /// What to watch for.
    pub cautions: Vec<Caution>,
}

/// One treatment, worked out.
#[derive(Clone, Debug, Serialize)]
pub struct TreatmentPlan {
    /// Its place in the job, from 1.
    pub number: usize,
    /// The product.
    pub product: ProductFacts,
    /// The directions followed.
    pub directions: DirectionFacts,
    /// The sprayer.
    pub sprayer: SprayerFacts,
    /// What it is mixed in, where that is not the sprayer itself.
    pub mixed_in: Option<VesselFacts>,
    /// What is filled and carries a label: the sprayer's tank, or what the mix is poured into.
    pub filled: VesselFacts,
    /// How near loads must be to the label's dose.
    pub dose: DosePlan,
    /// Whether loads are smaller than the vessel so that each is empty while its solution keeps.
    pub cut_for_keeps: bool,
    /// What the dilution means in water and product.
    pub ratio: Ratio,
    /// How strong the mix is.
    pub strength: StrengthPlan,
    /// What any reading of its strength is compared with, by strip or by instrument.
    pub bounds: Bounds,
    /// What the strip must show.
    pub strip: Option<StripPlan>,
    /// Solution laid on a surface.
    pub film: Film,
    /// How much solution is needed.
    pub need: Need,
    /// The loads, in order.
    pub loads: Vec<LoadPlan>,
    /// The areas, in order.
    pub areas: Vec<AreaPlan>,
    /// All areas together.
    pub size: Area,
    /// When its first load is begun.
    pub begins: DateTime,
    /// Spraying alone, all sprayers at work.
    pub spraying: Time,
    /// How often a tank is filled again after the first time.
    pub refills: usize,
    /// When this treatment's last surface may dry.
    pub wet_until: DateTime,
    /// When people may come back: one time for the whole site, [`Plan::reentry`], the same in every treatment. Rooms share
    /// air and crews, so that no earlier time may be taken for one.
    pub reentry: DateTime,
    /// When the first load must be thrown away, where the product file says how long it keeps.
    pub discard_after: Option<DateTime>,
    /// The rinse that is due, if any.
    pub rinse: Option<Rinse>,
    /// Whether tank and hose are rinsed before it.
    pub tank_rinsed: bool,
    /// The strongest load held against the limits for surfaces that food touches; `None` where it touches none.
    pub residue: Option<Residue>,
    /// How long the film lasts, and what follows; `None` where nothing can be said.
    pub wetness: Option<Wetness>,
    /// When the mist has cleared; `None` where none is made indoors or the air changes are not known.
    pub air: Option<AirPlan>,
    /// How its droplets settle, for a mist whose droplets are known.
    pub settling: Option<Settling>,
    /// When floors have dried, by the long estimate: the wet-floor signs stay at least until then.
    pub floor_dry: Option<DateTime>,
    /// The hazards its containers show.
    pub hazards: Hazards,
    /// What to wear, and why.
    pub equipment: Vec<Worn>,
    /// The label stock of its containers.
    pub stock: String,
}

/// What documents say of a product.
#[derive(Clone, Debug, Serialize)]
pub struct ProductFacts {
    /// Its key in the company file.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Its chemistry.
    pub kind: crate::catalog::ProductKind,
    /// Its registration, as written.
    pub registration: Option<String>,
    /// The signal word of its own label.
    pub label_signal: Option<LabelSignal>,
    /// What it must never meet.
    pub never_with: Vec<String>,
    /// Where the safety data sheet can be had.
    pub sds_link: Option<String>,
    /// How long its use solution keeps.
    pub keeps: Option<Time>,
}

/// What documents say of the directions.
#[derive(Clone, Debug, Serialize)]
pub struct DirectionFacts {
    /// Their key in the company file.
    pub key: String,
    /// How the label heads them.
    pub title: String,
    /// The dilution as the label writes it.
    pub dilution: Dilution,
    /// The upper end of a range: the most that the label allows.
    pub dilution_most: Option<Dilution>,
    /// How long the surface must stay visibly wet.
    pub contact_time: Time,
    /// The surfaces they are for.
    pub surface: Surface,
    /// How long people stay out.
    pub reentry: Option<Time>,
}

/// What documents say of a sprayer.
#[derive(Clone, Debug, Serialize)]
pub struct SprayerFacts {
    /// Its key in the company file.
    pub key: String,
    /// Its name.
    pub name: String,
    /// How it applies.
    pub method: Method,
    /// What its tank holds.
    pub tank: Volume,
    /// What one of them puts out; worked out from pace and film where the file gives no flow.
    pub flow: Flow,
    /// How many work side by side.
    pub count: u32,
    /// Droplet size.
    pub droplet: Option<Length>,
    /// Pressure.
    pub pressure: Option<Pressure>,
}

/// What documents say of a vessel.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct VesselFacts {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub holds: Volume,
}

/// How strong the mix is.
#[derive(Clone, Debug, Serialize)]
pub struct StrengthPlan {
    /// What is counted.
    pub of: Measured,
    /// At the label's own dose.
    pub label: Strength,
    /// As mixed in the weakest load, after rounding to what can be measured. Never below `label`.
    pub mixed: Strength,
    /// As mixed in the strongest load.
    pub strongest: Strength,
    /// What the label prints for this dilution.
    pub stated: Option<Strength>,
    /// Each active, as mixed.
    pub actives: Vec<ActiveStrength>,
}

/// What a strength counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measured {
    /// All actives together.
    Actives,
    /// Available chlorine.
    AvailableChlorine,
}

/// An active in the use solution.
#[derive(Clone, Debug, Serialize)]
pub struct ActiveStrength {
    /// Its name.
    pub name: String,
    /// Its CAS number.
    pub cas: Option<String>,
    /// By volume of solution.
    pub by_volume: Strength,
    /// By mass of solution, in milligrams a kilogram, where the product's density is known.
    pub milligrams_per_kilogram: Option<Number>,
    /// Share of the solution: by weight where the density is known, else grams in a millilitre.
    pub share: Share,
}

/// How much solution a treatment needs.
#[derive(Clone, Debug, Serialize)]
pub struct Need {
    /// For the areas, wetted once.
    pub areas: Volume,
    /// For wetting them again.
    pub rewet: Volume,
    /// Both together: what is laid.
    pub laid: Volume,
    /// In reserve.
    pub reserve: Volume,
    /// As a share of what is laid.
    pub reserve_share: Share,
    /// What stays in the hoses.
    pub hose: Volume,
    /// In all.
    pub total: Volume,
    /// What the loads really hold together.
    pub mixed: Volume,
    /// Product in all loads.
    pub product: Amount,
}

/// One filling of one tank.
#[derive(Clone, Debug, Serialize)]
pub struct LoadPlan {
    /// Its place in the treatment, from 1.
    pub number: usize,
    /// Which of several sprayers it is for, from 1.
    pub sprayer: u32,
    /// Water, to the tank's graduation.
    pub water: Volume,
    /// Product, to the measure's graduation.
    pub product: Amount,
    /// What the tank then holds.
    pub solution: Volume,
    /// Its strength as mixed.
    pub strength: Strength,
    /// That strength over the label's.
    pub factor: Number,
    /// Each active, as mixed in it.
    pub actives: Vec<ActiveStrength>,
    /// How many containers it fills, each with a label of its own: 1, or as many as the mix is poured into.
    pub containers: usize,
    /// How long it lasts.
    pub spraying: Time,
    /// When it is mixed and read.
    pub mixed_at: DateTime,
    /// When it is empty.
    pub empty_at: DateTime,
    /// When what is left of it must be thrown away, where the product file says how long it keeps.
    pub discard_after: Option<DateTime>,
}

/// One area of a treatment.
#[derive(Clone, Debug, Serialize)]
pub struct AreaPlan {
    /// Its name.
    pub name: String,
    /// What of it is treated.
    pub parts: Vec<Part>,
    /// How large all of that is.
    pub size: Area,
    /// Whether it lies in the open.
    pub outdoors: bool,
    /// The room it is in, where the job names one.
    pub room: Option<String>,
    /// Which of the site's air spaces its air belongs to, from 1; `None` in the open.
    pub air_space: Option<u32>,
    /// Solution to wet it once.
    pub first: Volume,
    /// Solution for it, wetting again included.
    pub solution: Volume,
    /// Spraying alone.
    pub spraying: Time,
    /// When work on it begins, is done, and may dry.
    #[serde(flatten)]
    pub times: AreaTimes,
}

impl AreaPlan {
    /// The room it is in: the one the job names, else the area itself.
    pub fn room(&self) -> &str {
        self.room.as_deref().unwrap_or(&self.name)
    }
}

impl SprayerFacts {
    /// Why its droplets are breathed in, if they are.
    pub fn airborne(&self) -> Option<Airborne> {
        Airborne::of(self.method, self.droplet.as_ref())
    }
}

impl TreatmentPlan {
    /// How many containers all loads fill: each carries a label.
    pub fn containers(&self) -> usize {
        self.loads.iter().map(|load| load.containers).sum()
    }

    /// Whether the dilution counts water or solution.
    pub fn basis(&self) -> Option<Basis> {
        match &self.directions.dilution {
            Dilution::Liquid { basis, .. }
            | Dilution::Powder { basis, .. }
            | Dilution::Tablets { basis, .. }
            | Dilution::Parts { basis, .. } => Some(*basis),
            Dilution::Percent { .. } | Dilution::Target { .. } => Some(Basis::MadeUpTo),
            Dilution::ReadyToUse => None,
        }
    }
}
