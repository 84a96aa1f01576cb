//! Job and service logs: what the user wrote, resolved against the company file.

mod area;
mod container;
mod mixing;
mod photograph;
mod service_log;
mod service_log_read;
mod service_log_times;
mod service_log_words;
mod shared_air;
mod site;
mod treatment;
mod visit;

pub use area::{Area, Part, PartKind};
pub use container::Filled;
pub use service_log::{AreaLog, CheckLog, LoadLog, Reading, ServiceLog};
pub use service_log_read::{LogKeys, visits_of};
pub use service_log_words::NO_REASON;
pub use shared_air::InMist;
pub use site::Site;
pub use treatment::Treatment;
pub use visit::{Client, Gathered, Job, JobKeys};
