//! An address as a QR code: one path of black modules.

use qrcode::{Color, EcLevel, QrCode};

use crate::marks::{Fill, Mark, PX_PER_INCH, Role, Shape};

/// Light modules round the code, on each side (ISO/IEC 18004).
const QUIET: f64 = 4.0;
/// A smaller module is not read reliably off a bench print with a phone; mm. Practice, not a standard.
const LEAST_MODULE_MM: f64 = 0.35;

/// An address that gives no readable code.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum QrError {
    /// More than the code holds at this size.
    #[error(
        "the address {address:?} has {} characters; its QR code would be too fine to read at {side_mm:.0} mm, shorten the address",
        address.chars().count()
    )]
    TooLong {
        /// The address.
        address: String,
        /// Side of the code, mm.
        side_mm: f64,
    },
}

/// The code in a square with its quiet zone.
///
/// # Units
/// - `at`: upper left corner, px
/// - `side`: of the whole square, px
///
/// # Errors
/// [`QrError::TooLong`] if a module would be smaller than a phone reads.
pub(crate) fn code(address: &str, at: [f64; 2], side: f64) -> Result<Mark, QrError> {
    let side_mm = side / PX_PER_INCH * 25.4;
    let too_long = || QrError::TooLong { address: address.to_owned(), side_mm };
    let code = QrCode::with_error_correction_level(address, EcLevel::M).map_err(|_| too_long())?;
    let count = code.width();
    let across = count as f64 + 2.0 * QUIET;
    if side_mm / across < LEAST_MODULE_MM {
        return Err(too_long());
    }
    let module = side / across;
    let colours = code.to_colors();
    let mut shape = Shape::default();
    for (row, line) in colours.chunks(count).enumerate() {
        let mut column = 0;
        while column < count {
            let run = line[column..].iter().take_while(|colour| **colour == Color::Dark).count();
            if run > 0 {
                let left = at[0] + (column as f64 + QUIET) * module;
                let top = at[1] + (row as f64 + QUIET) * module;
                let (right, bottom) = (left + run as f64 * module, top + module);
                shape.ring(&[[left, top], [right, top], [right, bottom], [left, bottom]]);
            }
            column += run.max(1);
        }
    }
    Ok(Mark::area(shape, Fill::Flat(Role::Ink), None))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The three finder patterns: seven dark modules along each outer edge, and none in the quiet zone.
    #[test]
    fn the_corners_are_finder_patterns() {
        let address = "http://bench.example/run/1";
        let Mark::Path { shape, .. } = code(address, [0.0, 0.0], 330.0).unwrap() else {
            panic!("a code is a path");
        };
        // 26 bytes at level M need version 2: 25 modules, 33 with the quiet zone, 10 px each.
        let points: Vec<[f64; 2]> = shape.points().collect();
        let rings: Vec<[f64; 4]> = points
            .chunks(4)
            .map(|ring| [ring[0][0], ring[0][1], ring[2][0], ring[2][1]].map(f64::round))
            .collect();
        for want in [[40.0, 40.0, 110.0, 50.0], [220.0, 40.0, 290.0, 50.0], [40.0, 280.0, 110.0, 290.0]] {
            assert!(rings.contains(&want), "{want:?} is not among the modules");
        }
        assert!(rings.iter().all(|[l, t, r, b]| *l >= 40.0 && *t >= 40.0 && *r <= 290.0 && *b <= 290.0));
    }

    #[test]
    fn an_address_too_long_for_the_size_is_refused() {
        let address = format!("http://bench.example/{}", "x".repeat(300));
        let error = code(&address, [0.0, 0.0], 100.0).unwrap_err().to_string();
        assert!(error.contains("has 321 characters"), "{error}");
        assert!(error.ends_with("too fine to read at 26 mm, shorten the address"), "{error}");
        assert!(code(&"x".repeat(4000), [0.0, 0.0], 1e6).is_err());
    }
}
