//! Files attached to a certificate: its record, the record's seal and the logo.

use crate::record::pdf::carried;

/// The content of every attachment, in the order they stand in the file. What cannot be unpacked is left out; of a file beyond the
/// bounds of `carried` there is none.
pub fn attached(pdf: &[u8]) -> Vec<Vec<u8>> {
    carried(pdf).map(|carried| carried.files).unwrap_or_default()
}
