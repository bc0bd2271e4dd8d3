//! Figures of the trade, each with its source.
//!
//! This room is the ground floor: typed [quantities](Length), the
//! [`Working`] that every computed figure carries, the [`Finding`] that every
//! check reports, and the tables of `standards/*.csv`, compiled in. A figure
//! from a document stands there once, beside the document's key, the place in
//! it and how it is known; [`figures`] reads them. [`Fastener`] reads a part
//! number.
//!
//! It knows no other room, opens no file and reads no clock.

pub mod drill;
pub mod fastener;
mod figures;
mod finding;
pub mod limits;
mod quantity;
pub mod rivet;
mod source;
pub mod strength;
mod table;
mod working;

pub use fastener::{Fastener, ReadFastener, ReadFastenerError};
pub use figures::{
    AlloyFigures, Constant, CountersinkDiameter, CountersinkMinimum, Figures, Gauge, HoleRole, HoleSize,
    RivetLengths, RivetSize, SheetAlloy, SpacingItem, SpacingRule, SpacingUse, SqueezePoint,
    ThicknessTolerance, figures,
};
pub use finding::{Finding, Place, Severity};
pub use limits::{LimitSet, ShopHeadLimits};
pub use quantity::{
    Angle, Area, Force, LBF_IN_NEWTONS, Length, POUND_IN_KG, ReadLengthError, STANDARD_GRAVITY, Unit, inches,
    millimetres,
};
pub use rivet::{Dash, Diameter, HeadStyle, Rivet, RivetAlloy, RivetType};
pub use source::{Cited, Known, Source, SourceKey};
pub use table::Table;
pub use working::{Figure, Working};
