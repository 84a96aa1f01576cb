//! What to wear.

use crate::catalog::{Equipment, Method, Sds};

/// The data sheet's list, always; gloves and goggles too, since a concentrate is poured; and for mist and fog a
/// respirator, since droplets of that size are breathed in. Where the sheet asks for less, this is the side that protects.
pub(super) fn worn(sds: &Sds, method: Method) -> Vec<Equipment> {
    let mut worn = sds.equipment.clone();
    worn.extend([Equipment::Gloves, Equipment::Goggles]);
    if method.is_airborne() {
        worn.push(Equipment::Respirator);
    }
    worn.sort_unstable();
    worn.dedup();
    worn
}
