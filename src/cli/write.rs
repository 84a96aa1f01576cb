//! Files that are whole or absent.

pub(super) use crate::whole::write_whole;
