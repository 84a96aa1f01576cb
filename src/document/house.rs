//! The house style on a document: what every template is given of it, and the logo's file beside the templates.

use serde_json::{Value, json};

use super::View;
use crate::catalog::{Logo, Style};
use crate::typeset::{Ink, Template, Templates};

/// Where templates find the logo.
fn logo_path(logo: &Logo) -> String {
    format!("house/logo.{}", logo.form.ending())
}

/// Puts the logo beside the templates, for a press that serves one company.
pub fn furnish(templates: &mut Templates, style: &Style) {
    if let Some(logo) = &style.logo {
        templates.replace(logo_path(logo), logo.bytes.clone());
    }
}

/// Gives a document the firm's look, and tells a label which ink it is for. The plan knows nothing of either, since the
/// record is of the work and not of the paper.
pub fn dress(view: &mut View, style: &Style, company: &str, ink: Ink) {
    let logo = style.logo.as_ref().map(|logo| json!({ "path": format!("/{}", logo_path(logo)), "alt": company }));
    view.data["accent"] = json!(style.accent.map(|accent| accent.hex()));
    view.data["logo"] = json!(logo);
    view.data["lines"] = Value::from(style.lines.clone());
    // Stock that takes one ink takes it whatever the sheets are printed with.
    if view.template == Template::Label && ink == Ink::Black {
        view.data["stock"]["ink"] = json!(ink.word());
    }
    if view.template == Template::MixSheet {
        super::mix_sheet::begin(&mut view.data);
    }
}
