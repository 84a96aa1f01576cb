//! Finds what the font cannot print before Typst does, and can say in which field it stands.

use serde_json::Value;

use super::error::TypesetError;
use super::fonts::can_print;

/// A document's data.
///
/// # Errors
/// [`TypesetError::Template`] if it is no JSON.
pub(super) fn read(data: &[u8]) -> Result<Value, TypesetError> {
    serde_json::from_slice(data).map_err(|e| TypesetError::Template {
        message: format!("the document's data is no JSON: {e}"),
        place: None,
        hints: Vec::new(),
    })
}

/// Every string of the data must be printable.
///
/// # Errors
/// [`TypesetError::MissingGlyph`] for the first that is not.
pub(super) fn check(data: &Value) -> Result<(), TypesetError> {
    walk(data, &mut String::new())
}

fn walk(value: &Value, path: &mut String) -> Result<(), TypesetError> {
    let before = path.len();
    match value {
        Value::String(text) => {
            if let Some(character) = text.chars().find(|&c| !can_print(c)) {
                return Err(TypesetError::MissingGlyph { character, text: text.clone(), field: path.clone() });
            }
        }
        Value::Array(items) => {
            for (i, item) in items.iter().enumerate() {
                path.push_str(&format!("[{i}]"));
                walk(item, path)?;
                path.truncate(before);
            }
        }
        Value::Object(fields) => {
            // an SVG is drawn, not set in type
            for (key, item) in fields.iter().filter(|(key, _)| *key != "svg") {
                if !path.is_empty() {
                    path.push('.');
                }
                path.push_str(key);
                walk(item, path)?;
                path.truncate(before);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
    Ok(())
}
