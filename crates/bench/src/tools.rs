//! The starter set of tools, and which of them sets a rivet.
//!
//! A squeezer where its force suffices, else gun and bar. The rated force is
//! that of `standards/constants.csv` (`squeezer-rated`); from the share of it
//! in `squeezer-warn` on, the reason says that it is near its end. The builder's own tools, and
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
    let warn = rated.value * figures().constant("squeezer-warn").value;
    let diameter = rivet.diameter;
    let (tool, why) = match force::to_form(rivet.alloy, diameter.length(), width) {
        Some(force) => {
            let lbf = force.lbf();
            let needs = format!("about {lbf:.0} lbf for a head {} in wide", width.decimal());
            let has = format!(
                "the squeezer of the starter set has {:.0} lbf at the end of its stroke",
                rated.value
            );
            if lbf > rated.value {
                (Tool::GunAndBar, format!("{needs}; {has}, which is not enough"))
            } else if lbf >= warn {
                (
                    Tool::Squeezer,
                    format!(
                        "{needs}; {has}: near its end, so full air pressure, and look at the first heads"
                    ),
                )
            } else {
                (Tool::Squeezer, format!("{needs}; {has}"))
            }
        }
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
