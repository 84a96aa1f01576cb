//! Job and as-applied files: what the user wrote, resolved against the company file.

mod applied;
mod area;
mod visit;

pub use applied::{Applied, AppliedArea, AppliedLoad, Deviation, Reading};
pub use area::{Area, Part};
pub use visit::{Client, Job, Site, Treatment, Visit};
