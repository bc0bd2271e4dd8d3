//! The starter set of tools, and which of them sets a rivet.
//!
//! A squeezer where its force suffices, else gun and bar. The rated force is
//! that of `standards/constants.csv` (`squeezer-rated`), the share of it from
//! which to leave the squeezer is `squeezer-warn`. The builder's own tools, and
//! reach past flanges and into corners, come with the tools of the build.

use faying_joint::force;
use faying_standards::{Cited, HeadStyle, Length, RivetType, figures};

/// A tool of the starter set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tool {
    /// Pneumatic or hand squeezer.
    Squeezer,
    /// Rivet gun and bucking bar.
    GunAndBar,
    /// What the fastener itself asks: a puller, a wrench.
    OfFastener,
}

impl Tool {
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Squeezer => "squeezer",
            Self::GunAndBar => "gun and bar",
            Self::OfFastener => "tool of the fastener",
        }
    }
}

/// The tool for a rivet, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Which.
    pub tool: Tool,
    /// Dies or set, in words.
    pub dies: String,
    /// Why, in a sentence.
    pub why: String,
    /// Where the figures come from.
    pub cited: Cited,
}

/// The tool that sets a rivet to a width.
///
/// # Units
/// - `width`: width of the shop head that is aimed at
#[must_use]
pub fn tool_for(rivet: RivetType, width: Length) -> Choice {
    let rated = figures().constant("squeezer-rated");
    let most = rated.value * figures().constant("squeezer-warn").value;
    let force = force::to_form(rivet.alloy, rivet.diameter.length(), width);
    let diameter = rivet.diameter;
    let (tool, why) = match force {
        Some(force) if force.lbf() < most => (
            Tool::Squeezer,
            format!(
                "about {:.0} lbf for a head {} in wide; the squeezer of the starter set has {:.0} lbf",
                force.lbf(),
                width.decimal(),
                rated.value
            ),
        ),
        Some(force) => (
            Tool::GunAndBar,
            format!(
                "about {:.0} lbf for a head {} in wide is near or over the {:.0} lbf of the starter squeezer",
                force.lbf(),
                width.decimal(),
                rated.value
            ),
        ),
        None => (
            Tool::GunAndBar,
            format!("the force to form {} is not known here: gun and bar", rivet.alloy.code()),
        ),
    };
    let dies = match (tool, rivet.head) {
        (Tool::Squeezer, HeadStyle::Universal) => format!("cupped {diameter} and flat"),
        (Tool::Squeezer, HeadStyle::Flush) => "wide flat and flat".to_owned(),
        (_, HeadStyle::Universal) => format!("cupped set {diameter}"),
        (_, HeadStyle::Flush) => "mushroom set".to_owned(),
    };
    Choice { tool, dies, why, cited: rated.cited.clone() }
}
