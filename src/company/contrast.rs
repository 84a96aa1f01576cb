//! Contrast of a color on white paper, as the Web Content Accessibility Guidelines 2.2 define it ("relative luminance"
//! and "contrast ratio").

/// The least contrast that text may have, WCAG 2.2 success criterion 1.4.3, in hundredths: 4.5 to 1.
pub(super) const LEAST_HUNDREDTHS: u32 = 450;

/// The contrast of an sRGB color (red, green, blue from 0 to 255) on white, in hundredths, rounded down, so that a
/// color that just fails is never said to reach the limit. From 100 (white) to 2100 (black).
pub(super) fn on_white([red, green, blue]: [u8; 3]) -> u32 {
    let luminance = 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue);
    let ratio = 1.05 / (luminance + 0.05);
    // far inside u32: the ratio is from 1 to 21; the sliver makes up for white's 0.999999999
    (ratio * 100.0 + 1e-9).floor() as u32
}

/// The linear value, 0 to 1, of one sRGB channel.
fn linear(channel: u8) -> f64 {
    let c = f64::from(channel) / 255.0;
    // the threshold in WCAG; no 8-bit value lies between it and the newer 0.04045
    if c <= 0.03928 {
        c / 12.92
    } else {
        let base = (c + 0.055) / 1.055;
        base * base * fifth_root(base * base)
    }
}

/// The fifth root of a number from 0 to 1, by Newton's rule: plain arithmetic, so that every machine agrees to the bit.
fn fifth_root(value: f64) -> f64 {
    let mut root = 1.0;
    for _ in 0..40 {
        let fourth = root * root * root * root;
        root = (4.0 * root + value / fourth) / 5.0;
    }
    root
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ends_of_the_scale() {
        assert_eq!(on_white([0, 0, 0]), 2100, "WCAG 2.2: black on white is 21 to 1");
        assert_eq!(on_white([255, 255, 255]), 100);
    }

    /// Worked out by the formula of WCAG 2.2: #767676 is the lightest grey that passes, #777777 the first that fails.
    #[test]
    fn the_grey_on_each_side_of_the_limit() {
        assert_eq!(on_white([0x76; 3]), 454);
        assert_eq!(on_white([0x77; 3]), 447);
    }

    #[test]
    fn the_root_agrees_with_the_library() {
        for i in 1..=100 {
            let value = f64::from(i) / 100.0;
            assert!((fifth_root(value) - value.powf(0.2)).abs() < 1e-12, "{value}");
        }
    }
}
