//! From characters to numbers, words and signs. One pass, no meaning yet.

use super::error::{QuantityError, quote};
use super::number::Number;

/// The longest text that is read at all, in characters: no quantity needs as many.
pub(crate) const MOST_CHARACTERS: usize = 200;

/// The most digits of one figure: as many as a double holds. Every figure is kept exactly, so longer ones would only make
/// every calculation after them slow.
const MOST_DIGITS: usize = 15;
/// The largest lower figure of a fraction. Sums of fractions with large lower figures have as many digits as all of these together.
/// No published rule; a tape has sixty-fourths.
const LARGEST_BOTTOM: i64 = 5_000;

/// A piece of what was written.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Token {
    /// A number, with how it was written.
    Number {
        value: Number,
        text: String,
        /// Written as `1/64`, with a stroke and nothing before it.
        stroke: bool,
    },
    /// A run of letters, in lower case, without full stops; `m2` for m², `%`, `x` for ×.
    Word(String),
    /// `/` or `per`.
    Slash,
    Colon,
    Plus,
    Minus,
    Comma,
}

impl Token {
    pub(crate) fn is(&self, word: &str) -> bool {
        matches!(self, Token::Word(found) if found == word)
    }
}

/// Cuts `text` into tokens; `wanted` names what is read, for messages.
pub(crate) fn scan(text: &str) -> Result<Vec<Token>, QuantityError> {
    let length = text.chars().take(100_000).count();
    if length > MOST_CHARACTERS {
        let message = format!("this is {length} characters long; a quantity has at most {MOST_CHARACTERS}");
        return Err(QuantityError::plain(message));
    }
    let characters: Vec<char> = text.chars().map(plain).collect();
    let mut scanner = Scanner { text, characters, at: 0, tokens: Vec::new() };
    while let Some(c) = scanner.peek(0) {
        scanner.step(c)?;
    }
    Ok(join_phrases(join_fractions(text, scanner.tokens)?))
}

/// Signs that look alike become one.
fn plain(c: char) -> char {
    match c {
        'μ' => 'µ',
        'º' | '˚' => '°',
        '∕' | '⁄' | '／' => '/',
        '∶' => ':',
        '−' | '–' | '—' | '‐' | '‑' => '-',
        '×' | '✕' | '*' => 'x',
        '′' | '’' => '\'',
        '″' | '”' => '"',
        // Spaces nobody sees, which copying from a web page or a PDF leaves behind.
        '\u{200B}' | '\u{2060}' | '\u{FEFF}' => ' ',
        other if other.is_whitespace() => ' ',
        other => other,
    }
}

/// What words are made of: letters, and the signs that Unicode has for whole units.
fn letter(c: char) -> bool {
    c.is_alphabetic() || matches!(c, '°' | '℉' | '℃' | '㎡')
}

/// The fractions that Unicode has a sign for.
const FRACTIONS: &str =
    "½=1/2 ⅓=1/3 ⅔=2/3 ¼=1/4 ¾=3/4 ⅕=1/5 ⅖=2/5 ⅗=3/5 ⅘=4/5 ⅙=1/6 ⅚=5/6 ⅐=1/7 ⅛=1/8 ⅜=3/8 ⅝=5/8 ⅞=7/8 ⅑=1/9 ⅒=1/10";

fn fraction(c: char) -> Option<Number> {
    let written = FRACTIONS.split(' ').find_map(|fraction| fraction.strip_prefix(c)?.strip_prefix('='))?;
    let (top, bottom) = written.split_once('/')?;
    Some(Number::parse(top)? / Number::parse(bottom)?)
}

struct Scanner<'a> {
    text: &'a str,
    characters: Vec<char>,
    at: usize,
    tokens: Vec<Token>,
}

impl Scanner<'_> {
    fn peek(&self, ahead: usize) -> Option<char> {
        self.characters.get(self.at + ahead).copied()
    }

    fn digit(&self, ahead: usize) -> bool {
        self.peek(ahead).is_some_and(|c| c.is_ascii_digit())
    }

    fn step(&mut self, c: char) -> Result<(), QuantityError> {
        let sign = match c {
            ' ' => {
                self.at += 1;
                return Ok(());
            }
            '0'..='9' => return self.number(),
            '.' if self.digit(1) => return self.number(),
            _ if fraction(c).is_some() => return self.fraction(c),
            _ if letter(c) => {
                self.word();
                return Ok(());
            }
            '-' => return self.dash(),
            '/' => Token::Slash,
            ':' => Token::Colon,
            '+' => Token::Plus,
            ',' => Token::Comma,
            '%' => Token::Word("%".into()),
            '\'' => Token::Word("ft".into()),
            '"' => Token::Word("in".into()),
            // A full stop after a word was an abbreviation's and is gone already.
            other => {
                let what = format!("{} (U+{:04X})", quote(&other.to_string()), other as u32);
                return Err(QuantityError::unexpected(self.text, &what));
            }
        };
        self.tokens.push(sign);
        self.at += 1;
        Ok(())
    }

    /// A hyphen in `ready-to-use` or `5'-6"`, the sign of a temperature, or a range, which is refused.
    fn dash(&mut self) -> Result<(), QuantityError> {
        let before = self.at.checked_sub(1).and_then(|at| self.characters.get(at)).copied();
        self.at += 1;
        let after = self.peek(0);
        let next = self.characters.get(self.at..).unwrap_or_default().iter().find(|c| **c != ' ');
        let figure_follows = next.is_some_and(|c| c.is_ascii_digit() || *c == '.' || fraction(*c).is_some());
        match self.tokens.last() {
            Some(Token::Word(word)) if figure_follows && word == "ft" => Ok(()),
            Some(Token::Word(_) | Token::Number { .. }) if figure_follows => Err(QuantityError::range(self.text)),
            _ if figure_follows => {
                self.tokens.push(Token::Minus);
                Ok(())
            }
            _ if before.is_some_and(letter) && after.is_some_and(letter) => Ok(()),
            _ => Err(QuantityError::unexpected(self.text, "a stray `-`")),
        }
    }

    fn word(&mut self) {
        let mut word = String::new();
        while let Some(c) = self.peek(0) {
            if letter(c) {
                word.extend(c.to_lowercase());
            } else if c != '.' || self.digit(1) {
                break;
            }
            self.at += 1;
        }
        match word.as_str() {
            "℉" => word = "°f".into(),
            "℃" => word = "°c".into(),
            "㎡" => word = "m2".into(),
            _ => {}
        }
        // `ft2`, `ft^2` and (by now) `ft²`: the figure belongs to the word where the two name a unit and end there.
        let caret = usize::from(self.peek(0) == Some('^'));
        let power = match self.peek(caret) {
            Some('2' | '²') => Some('2'),
            Some('3' | '³') => Some('3'),
            _ => None,
        };
        if let Some(power) = power
            && !self.peek(caret + 1).is_some_and(|c| c.is_alphanumeric() || c == '.')
            && super::unit::find(&format!("{word}{power}")).is_some()
        {
            word.push(power);
            self.at += caret + 1;
        }
        // `12ftx8ft`
        if let Some(unit) = word.strip_suffix('x')
            && self.digit(0)
            && super::unit::find(unit).is_some()
        {
            self.tokens.push(Token::Word(unit.into()));
            word = "x".into();
        }
        self.tokens.push(Token::Word(word));
    }

    fn number(&mut self) -> Result<(), QuantityError> {
        let start = self.at;
        while self.digit(0) || (matches!(self.peek(0), Some('.' | ',')) && self.digit(1)) {
            self.at += 1;
        }
        let written: String = self.characters.get(start..self.at).unwrap_or_default().iter().collect();
        let plain = ungrouped(&written)?;
        if significant(&plain) > MOST_DIGITS {
            let hint = format!("write it with {MOST_DIGITS} digits at most: no tape, cup or scale shows as many");
            return Err(QuantityError::bad_number(&written, hint));
        }
        let mut exponent = String::new();
        if matches!(self.peek(0), Some('e' | 'E')) {
            let signed = usize::from(matches!(self.peek(1), Some('+' | '-')));
            if self.digit(1 + signed) {
                exponent.push('e');
                self.at += 1;
                exponent.extend((0..signed).filter_map(|ahead| self.peek(ahead)));
                self.at += signed;
                while let Some(digit) = self.peek(0).filter(char::is_ascii_digit) {
                    exponent.push(digit);
                    self.at += 1;
                }
            }
        }
        let text = format!("{written}{exponent}");
        let digits = plain.trim_start_matches(['0', '.']).bytes().filter(u8::is_ascii_digit).count();
        if digits > MOST_DIGITS {
            let hint = format!("write at most {MOST_DIGITS} digits");
            return Err(QuantityError::bad_number(&text, hint));
        }
        let Some(value) = Number::parse(&format!("{plain}{exponent}")) else {
            return Err(QuantityError::bad_number(&text, "write a plain decimal figure such as `12.5`"));
        };
        self.tokens.push(Token::Number { value, text, stroke: false });
        Ok(())
    }

    /// `½`, alone or after a whole number.
    fn fraction(&mut self, c: char) -> Result<(), QuantityError> {
        self.at += 1;
        // The caller has seen that it is one.
        let part = fraction(c).unwrap_or_else(Number::zero);
        match self.tokens.last_mut() {
            Some(Token::Number { value, text, .. }) => {
                let before = text.clone();
                text.push(c);
                if !whole(&before) {
                    return Err(QuantityError::bad_number(text, "write a fraction after a whole number, such as `5½`"));
                }
                *value = &*value + &part;
            }
            _ => self.tokens.push(Token::Number { value: part, text: c.to_string(), stroke: false }),
        }
        Ok(())
    }
}

/// How many digits of a figure say something: from the first that is not 0 to the last.
fn significant(plain: &str) -> usize {
    let digits: String = plain.chars().filter(char::is_ascii_digit).collect();
    digits.trim_matches('0').len()
}

fn whole(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

/// The figure without its thousands separators, which must be well formed: a comma is never a decimal sign here.
fn ungrouped(written: &str) -> Result<String, QuantityError> {
    let (left, right) = written.split_once('.').unwrap_or((written, ""));
    if right.contains(['.', ',']) {
        return Err(QuantityError::bad_number(
            written,
            "write thousands with commas and decimals with one point, such as `1,250.5`",
        ));
    }
    if left.contains(',') {
        let mut groups = left.split(',');
        let first = groups.next().unwrap_or_default();
        let well_formed = (1..=3).contains(&first.len()) && !first.starts_with('0') && groups.all(|g| g.len() == 3);
        if !well_formed {
            let hint = format!(
                "the decimal sign here is the point: {}; a comma only parts thousands, as in `2,250`",
                quote(&written.replacen(',', ".", 1))
            );
            return Err(QuantityError::bad_number(written, hint));
        }
    }
    Ok(written.replace(',', ""))
}

/// `1/2` and `5 1/2` become one number.
fn join_fractions(text: &str, tokens: Vec<Token>) -> Result<Vec<Token>, QuantityError> {
    let mut joined: Vec<Token> = Vec::with_capacity(tokens.len());
    for token in tokens {
        let Token::Number { value: bottom, text: bottom_text, .. } = &token else {
            joined.push(token);
            continue;
        };
        let stroke_before = matches!(
            joined.as_slice(),
            [.., Token::Number { text: top, .. }, Token::Slash] if whole(top) && whole(bottom_text)
        );
        if !stroke_before {
            joined.push(token);
            continue;
        }
        joined.pop();
        let Some(Token::Number { value: top, text: top_text, .. }) = joined.pop() else {
            // The slice pattern above has just matched both.
            continue;
        };
        let written = format!("{top_text}/{bottom_text}");
        if bottom.is_zero() {
            return Err(QuantityError::bad_number(&written, "a fraction's lower figure cannot be 0"));
        }
        if *bottom > LARGEST_BOTTOM {
            let hint = format!("write a decimal figure; the lower figure of a fraction is at most {LARGEST_BOTTOM}");
            return Err(QuantityError::bad_number(&written, hint));
        }
        let part = &top / bottom;
        match joined.last_mut() {
            Some(Token::Number { value, text: before, stroke }) => {
                if !whole(before) || part >= 1 {
                    return Err(QuantityError::bad_number(
                        text,
                        "write a whole number and a proper fraction, such as `5 1/2`",
                    ));
                }
                *value = &*value + &part;
                *before = format!("{before} {written}");
                *stroke = false;
            }
            _ => joined.push(Token::Number { value: part, text: written, stroke: true }),
        }
    }
    Ok(joined)
}

/// Phrases with a meaning of their own become one word: `parts per million`, `per cent`, `w/v`; `per` becomes a stroke.
fn join_phrases(tokens: Vec<Token>) -> Vec<Token> {
    let mut joined = Vec::with_capacity(tokens.len());
    let mut rest = tokens.as_slice();
    while let Some(first) = rest.first() {
        let word = |at: usize, word: &str| rest.get(at).is_some_and(|token| token.is(word));
        let slash = |at: usize| matches!(rest.get(at), Some(Token::Slash));
        let either = |at: usize, words: &[&str]| words.iter().any(|one| word(at, one));
        let (token, used) = if (word(0, "parts") || word(0, "part")) && word(1, "per") && word(2, "million") {
            (Token::Word("ppm".into()), 3)
        } else if word(0, "per") && word(1, "cent") {
            (Token::Word("%".into()), 2)
        } else if slash(1) && ((word(0, "v") && word(2, "v")) || (word(0, "vol") && word(2, "vol"))) {
            (Token::Word("v/v".into()), 3)
        } else if slash(1) && either(0, &["w", "wt", "m"]) && either(2, &["w", "wt", "m"]) {
            (Token::Word("w/w".into()), 3)
        } else if slash(1) && either(0, &["w", "wt", "m"]) && either(2, &["v", "vol"]) {
            (Token::Word("w/v".into()), 3)
        } else if word(0, "per") {
            (Token::Slash, 1)
        } else {
            (first.clone(), 1)
        };
        joined.push(token);
        rest = rest.get(used..).unwrap_or_default();
    }
    joined
}

#[test]
fn words_are_made_plain() {
    for (text, words) in [
        ("3 Fl. Oz.", "fl oz"),
        ("3 ft²", "ft2"),
        ("3 ft^2", "ft2"),
        ("20 μm", "µm"),
        ("12ftx8ft", "ft x ft"),
        ("12′ × 8′", "ft x ft"),
        ("72 ℉", "°f"),
        ("400 parts per million", "ppm"),
        ("70 % V/V", "% v/v"),
        ("ready-to-use", "ready to use"),
    ] {
        let tokens = scan(text).unwrap();
        let found: Vec<&str> = tokens.iter().filter_map(super::expression::as_word).collect();
        assert_eq!(found.join(" "), words, "{text}");
    }
}
