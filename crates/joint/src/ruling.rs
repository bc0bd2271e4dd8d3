//! What rules say of one thing that was measured or seen, side by side.
//!
//! Documents do not agree, and none is mixed with another: each says its own
//! [`Ruling`], and at most one of them rules the build. A [`Judgement`] says
//! which, and why; what else is published stands beside it and changes
//! nothing. Nothing here approves a part.

use faying_standards::{Cited, Working};
use serde::Serialize;

/// What a rule says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Said {
    /// Inside what it asks, as far as that is known here and was measured.
    Inside,
    /// Outside.
    Outside,
    /// It does not speak of this, or something is missing that it asks for.
    NotJudged,
}

/// What one rule says.
#[derive(Clone, Debug, PartialEq)]
pub struct Ruling {
    /// The rule by its name: `MIL-R-47196A`, `kit manual`, a set of the builder's own.
    pub rule: String,
    /// Whether it is the one that rules this build; of one judgement at most one does.
    pub rules: bool,
    /// Whether it judges; advice, a target or a gauge is shown and no more.
    pub judges: bool,
    /// What it says.
    pub said: Said,
    /// Within the uncertainty of its limit.
    pub close: bool,
    /// The same as a sentence, with the readings and the limit in it.
    pub words: String,
    /// What of its document is not known here; empty where nothing.
    pub lacks: String,
    /// Where it comes from.
    pub cited: Cited,
}

/// Every rule on one thing, and what that comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// What the rule says that rules this build; not judged where none does.
    pub said: Said,
    /// Within the uncertainty of that rule's limit.
    pub close: bool,
    /// Which rule that is and why, or why none is, as a sentence.
    pub why: String,
    /// What each rule says, the ruling one first.
    pub rulings: Vec<Ruling>,
    /// What else is published of it; it changes no verdict.
    pub views: Vec<(String, Cited)>,
    /// What must not be done to it, such as closing a gap by another blow.
    pub cautions: Vec<(String, Cited)>,
    /// What was not checked.
    pub not_checked: Vec<String>,
    /// How the figures were reckoned.
    pub working: Working,
}

impl Judgement {
    /// Of rulings with the ruling one marked: its word is the judgement's.
    #[must_use]
    pub fn of(mut rulings: Vec<Ruling>, why: String) -> Self {
        rulings.sort_by_key(|ruling| (!ruling.rules, !ruling.judges));
        let ruling = rulings.first().filter(|ruling| ruling.rules);
        Self {
            said: ruling.map_or(Said::NotJudged, |ruling| ruling.said),
            close: ruling.is_some_and(|ruling| ruling.close),
            why,
            rulings,
            views: Vec::new(),
            cautions: Vec::new(),
            not_checked: Vec::new(),
            working: Working::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_standards::Known;

    fn ruling(rule: &str, rules: bool, said: Said) -> Ruling {
        Ruling {
            rule: rule.to_owned(),
            rules,
            judges: true,
            said,
            close: false,
            words: String::new(),
            lacks: String::new(),
            cited: Cited::new("mil-r-47196a", "", Known::SecondHand),
        }
    }

    #[test]
    fn the_ruling_one_speaks_and_stands_first() {
        let two = || vec![ruling("thumb", false, Said::Outside), ruling("own", true, Said::Inside)];
        let judgement = Judgement::of(two(), String::new());
        assert_eq!((judgement.said, judgement.rulings[0].rule.as_str()), (Said::Inside, "own"));
        let none = Judgement::of(two().into_iter().take(1).collect(), String::new());
        assert_eq!(none.said, Said::NotJudged);
    }
}
