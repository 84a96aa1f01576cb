//! The firm's logo: a drawing or picture that is exactly what it claims to be and looks at nothing outside itself.

mod drawing;
mod picture;

use std::path::Path;

use crate::input::{self, InputError};

/// The largest logo file, in bytes.
pub const LARGEST_LOGO: u64 = 1 << 20;
/// The largest side of a PNG, in pixels.
pub const LARGEST_SIDE: u32 = 4_000;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Logo {
    pub form: LogoForm,
    pub bytes: Vec<u8>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LogoForm {
    Svg,
    Png,
}

impl LogoForm {
    /// The ending of such a file's name.
    pub fn ending(self) -> &'static str {
        match self {
            LogoForm::Svg => "svg",
            LogoForm::Png => "png",
        }
    }
}

/// Reads a logo file; what kind it is, its content says and not its name.
///
/// # Errors
/// What is wrong with it, in the user's words.
pub(super) fn read(file: &Path) -> Result<Logo, String> {
    let cannot = |e: std::io::Error| format!("cannot read the logo: {e}");
    let bytes = input::read(file, LARGEST_LOGO).map_err(|e| match e {
        InputError::System(e) => cannot(e),
        InputError::Folder | InputError::NotOrdinary => "the logo is not an ordinary file".to_owned(),
        InputError::TooLarge(_) => format!("the logo is larger than {} MiB", LARGEST_LOGO >> 20),
    })?;
    let form = check(&bytes)?;
    Ok(Logo { form, bytes })
}

/// What kind of logo this is, if it is a sound one. A certificate may carry a stranger's, which is looked at by the same rules.
///
/// # Errors
/// What is wrong with it, in the user's words.
pub fn check(bytes: &[u8]) -> Result<LogoForm, String> {
    if bytes.len() as u64 > LARGEST_LOGO {
        return Err(format!("the logo is larger than {} MiB", LARGEST_LOGO >> 20));
    }
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        picture::check_png(bytes)?;
        Ok(LogoForm::Png)
    } else {
        drawing::check_svg(bytes)?;
        Ok(LogoForm::Svg)
    }
}
