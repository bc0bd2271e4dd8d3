//! What documents put in a rivet's place.
//!
//! Quoted with the scope of each document, as options of a question to the
//! designer; none is chosen here. Where nothing was seen, nothing is said.

use faying_standards::figures;
use faying_standards::strength::Substitute;

/// What might take a rivet's place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Instead {
    /// A bolt.
    Bolt,
    /// A blind rivet.
    BlindRivet,
    /// The same rivet in the next size.
    NextSize,
    /// A rivet of another alloy.
    OtherAlloy,
}

impl Instead {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Bolt, Self::BlindRivet, Self::NextSize, Self::OtherAlloy];

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Bolt => "a bolt",
            Self::BlindRivet => "a blind rivet",
            Self::NextSize => "the next size",
            Self::OtherAlloy => "another alloy",
        }
    }

    /// How the standards name it.
    const fn kind(self) -> &'static str {
        match self {
            Self::Bolt => "bolt",
            Self::BlindRivet => "blind rivet",
            Self::NextSize => "next size",
            Self::OtherAlloy => "alloy",
        }
    }
}

/// What is quoted of it: text with its document and that document's scope. Empty where nothing was seen.
#[must_use]
pub fn substitutes(instead: Instead) -> Vec<&'static Substitute> {
    figures().substitutes().iter().filter(|row| row.kind == instead.kind()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_standards::Known;

    /// Each is quoted from a document with its scope; of a blind rivet's strength nothing was seen.
    #[test]
    fn each_is_quoted_with_the_scope_of_its_document() {
        let of =
            |instead| substitutes(instead).iter().map(|row| row.cited.source.as_str()).collect::<Vec<_>>();
        assert_eq!(of(Instead::Bolt), ["tm-1-1520-240-bd"; 5]);
        assert_eq!(of(Instead::NextSize), ["mil-r-47196a", "mil-r-47196a", "ac43-13-1b"]);
        assert_eq!(of(Instead::OtherAlloy), ["ac43-13-1b"; 2]);
        assert!(of(Instead::BlindRivet).is_empty());
        let count: usize = Instead::ALL.into_iter().map(|it| substitutes(it).len()).sum();
        assert_eq!(count, figures().substitutes().len(), "a row of a kind that nobody asks for");
        for row in figures().substitutes() {
            assert!(!row.scope.is_empty());
            assert!(matches!(row.cited.known, Known::Seen | Known::SecondHand));
        }
    }
}
