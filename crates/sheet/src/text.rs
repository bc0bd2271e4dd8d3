//! How wide a text is, and how it breaks into lines.
//!
//! Widths are those of B612, which the page and the PDF carry: its Latin
//! letters step in twentieths of an em and its figures are all alike, so a
//! short table is exact. Where another typeface stands in, the width is an
//! estimate; a character outside the table counts as wide.

/// Height of a capital above the base line, em.
pub const CAPITAL: f64 = 0.77;
/// Depth of a tail below the base line, em.
pub const TAIL: f64 = 0.26;

/// Width of a text.
///
/// # Units
/// - `size`: size of the type, px
/// - returns: px
#[must_use]
pub fn width(text: &str, size: f64) -> f64 {
    text.chars().map(advance).sum::<f64>() * size
}

/// Advance width of a character in em (B612 Regular and Bold, the same).
const fn advance(letter: char) -> f64 {
    match letter {
        '|' | '\'' => 0.20,
        '!' | ' ' => 0.35,
        '"' | 'f' | 'r' | 't' => 0.40,
        ',' | '.' | ':' | ';' | '·' => 0.30,
        'I' | 'i' | 'j' | '°' => 0.30,
        'l' => 0.35,
        '(' | ')' | '[' | '-' | 's' | 'J' => 0.45,
        '=' | 'z' => 0.55,
        'c' | ']' => 0.50,
        'D' | 'A' | 'B' | 'R' | 'V' | 'X' | '0'..='9' | '<' | '>' | '{' => 0.65,
        'C' | 'E' | 'H' | 'U' | 'G' | '&' => 0.70,
        'a' | 'e' | 'k' | 'v' | 'x' | 'y' | 'F' | 'L' | 'S' | '*' | '/' | '\\' | '_' | '?' | '$' | '−'
        | '`' => 0.55,
        'b' | 'd' | 'g' | 'h' | 'n' | 'o' | 'p' | 'q' | 'u' | 'K' | 'P' | 'T' | 'Y' | 'Z' | '+' | '}' => 0.60,
        'w' | 'N' | '~' | '^' | '½' | '…' => 0.75,
        'O' | 'Q' | '×' => 0.80,
        '#' => 0.85,
        '%' | 'm' | 'M' => 0.90,
        _ => 1.0,
    }
}

/// A text broken at its spaces into lines no wider than a measure; a word that is wider stands alone.
///
/// # Units
/// - `size`: size of the type, px
/// - `measure`: greatest width of a line, px
#[must_use]
pub fn wrap(text: &str, size: f64, measure: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(line, size) + width(" ", size) + width(word, size) <= measure => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// As [`wrap`], but a word that is wider than the measure is broken between its letters.
///
/// # Units
/// - `size`: size of the type, px
/// - `measure`: greatest width of a line, px
#[must_use]
pub fn wrap_tight(text: &str, size: f64, measure: f64) -> Vec<String> {
    let mut broken = String::new();
    for word in text.split_whitespace() {
        if !broken.is_empty() {
            broken.push(' ');
        }
        let mut used = 0.0;
        for letter in word.chars() {
            let step = advance(letter) * size;
            if used > 0.0 && used + step > measure {
                broken.push(' ');
                used = 0.0;
            }
            broken.push(letter);
            used += step;
        }
    }
    wrap(&broken, size, measure)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advance widths of the printable ASCII characters of B612 Regular, hundredths of an em,
    /// read off the font file with a browser's text measure; Bold has the same.
    /// Drawn no narrower than it is, and no more than a tenth of an em wider.
    #[test]
    fn widths_are_those_of_the_typeface() {
        let measured: [f64; 95] = [
            35.0, 35.0, 40.0, 85.0, 55.0, 90.0, 70.0, 20.0, 45.0, 45.0, 55.0, 60.0, 25.0, 45.0, 30.0, 55.0,
            65.0, 65.0, 65.0, 65.0, 65.0, 65.0, 65.0, 65.0, 65.0, 65.0, 30.0, 25.0, 65.0, 50.0, 65.0, 55.0,
            100.0, 65.0, 65.0, 60.0, 65.0, 60.0, 55.0, 65.0, 70.0, 30.0, 45.0, 60.0, 55.0, 90.0, 75.0, 80.0,
            60.0, 80.0, 65.0, 55.0, 60.0, 70.0, 65.0, 95.0, 65.0, 60.0, 60.0, 45.0, 55.0, 50.0, 75.0, 55.0,
            55.0, 52.0, 60.0, 50.0, 60.0, 55.0, 40.0, 60.0, 60.0, 30.0, 30.0, 55.0, 35.0, 90.0, 60.0, 60.0,
            60.0, 60.0, 40.0, 45.0, 40.0, 60.0, 55.0, 75.0, 55.0, 55.0, 50.0, 65.0, 20.0, 60.0, 75.0,
        ];
        for (letter, hundredths) in (' '..='~').zip(measured) {
            let over = advance(letter) - hundredths / 100.0;
            assert!((-1e-9..=0.1 + 1e-9).contains(&over), "{letter:?} is {over:.2} em off");
        }
    }

    #[test]
    fn breaks_at_spaces_only() {
        assert_eq!(wrap("upper main spar cap", 10.0, 50.0), ["upper", "main spar", "cap"]);
        assert_eq!(wrap("", 10.0, 60.0), Vec::<String>::new());
    }

    #[test]
    fn a_long_word_is_broken_where_it_must_be() {
        // Figures are 0.65 em: seven of them are 45.5 px.
        assert_eq!(wrap_tight("12345678901 ab", 10.0, 50.0), ["1234567", "8901 ab"]);
        assert_eq!(wrap_tight("W", 10.0, 1.0), ["W"]);
    }
}
