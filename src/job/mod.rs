//! Job and service logs: what the user wrote, resolved against the company file.

mod applied;
mod applied_read;
mod applied_words;
mod area;
mod mixing;
mod shared_air;
mod site;
mod visit;

pub use applied::{Applied, AppliedArea, AppliedCheck, AppliedLoad, Reading};
pub use applied_read::LogKeys;
pub use area::{Area, Part, PartKind};
pub use shared_air::InMist;
pub use site::Site;
pub use visit::{Client, Job, JobKeys, Treatment};
