//! The scanner, by example.

use super::scan::{Token, scan};

fn numbers(text: &str) -> Vec<String> {
    scan(text)
        .unwrap()
        .into_iter()
        .filter_map(|token| match token {
            Token::Number { value, .. } => Some(value.decimal(4)),
            _ => None,
        })
        .collect()
}

#[test]
fn numbers_are_read_as_people_write_them() {
    for (text, value) in [
        ("2,250", "2250"),
        ("1,234,567.5", "1234567.5"),
        ("½", "0.5"),
        ("5½", "5.5"),
        ("5 ½", "5.5"),
        ("5 1/2", "5.5"),
        ("1/2", "0.5"),
        ("1⁄2", "0.5"),
        (".5", "0.5"),
        ("1e3", "1000"),
        ("2.5E-1", "0.25"),
        ("\u{a0}7\u{202f}", "7"),
    ] {
        assert_eq!(numbers(text), [value], "{text}");
    }
}

#[test]
fn malformed_numbers_are_refused() {
    for bad in [
        "1,5",
        "12,34",
        "1234,567",
        "0,500",
        "1,2345",
        "1.5.2",
        "1.500,5",
        "1e999",
        "1e99999999999",
        "1.5½",
        "1/0",
        "5 3/2",
        "5 1/2/3",
    ] {
        assert!(scan(bad).is_err() || scan(bad).unwrap().len() > 1, "{bad}");
    }
    assert!(scan("1,5").unwrap_err().hints[0].contains("`1.5`"));
    assert!(scan("1e999").is_err());
    assert!(scan("10-15 min").unwrap_err().message.contains("range"));
    assert!(scan("5 – 10 %").unwrap_err().message.contains("range"));
    assert!(scan("5 % - 10 %").unwrap_err().message.contains("range"));
}

#[test]
fn words_are_made_plain() {
    let words = |text: &str| -> Vec<String> {
        scan(text)
            .unwrap()
            .into_iter()
            .filter_map(|token| match token {
                Token::Word(word) => Some(word),
                _ => None,
            })
            .collect()
    };
    assert_eq!(words("3 Fl. Oz."), ["fl", "oz"]);
    assert_eq!(words("3 ft²"), ["ft2"]);
    assert_eq!(words("3 ft^2"), ["ft2"]);
    assert_eq!(words("20 μm"), ["µm"]);
    assert_eq!(words("12ftx8ft"), ["ft", "x", "ft"]);
    assert_eq!(words("12′ × 8′"), ["ft", "x", "ft"]);
    assert_eq!(words("72 ℉"), ["°f"]);
    assert_eq!(words("400 parts per million"), ["ppm"]);
    assert_eq!(words("70 % V/V"), ["%", "v/v"]);
    assert_eq!(words("ready-to-use"), ["ready", "to", "use"]);
}
