//! Drawings: one list of marks, and what writes them down.
//!
//! A [`Drawing`] is plain data: paths, circles, texts and groups in the px of
//! a page (96 to the inch), styled by [`Role`] and not by colour. [`svg::write`]
//! makes text of it; a PDF writer walks the same list. [`plane`] draws a face
//! of an assembly with its holes, [`section`] a hole to scale, [`symbol`] the
//! marks of both.
//!
//! This room computes no figure: what stands in a dimension was handed to it.
//! It opens no file, reads no clock and knows no page.

pub mod card;
pub mod chart;
pub mod curve;
pub mod document;
mod foot;
pub mod full_size;
pub mod label;
pub mod marks;
pub mod network;
mod outline;
pub mod page;
pub mod pdf;
pub mod plane;
pub mod qr;
pub mod question;
mod room;
pub mod section;
pub mod svg;
pub mod symbol;
pub mod text;
mod typeface;

pub use card::{Card, SetUp};
pub use chart::{Across, Chart, Level, Panel, Rate, chart_drawing, rates_drawing};
pub use curve::{Curve, curve_drawing};
pub use document::{Date, Document, Paper};
pub use full_size::{FullSize, FullSizeHole};
pub use label::{Label, Labels};
pub use marks::{Drawing, Mark, Role};
pub use network::Network;
pub use plane::{PlaneOptions, Scale, SpacingDimension, SpacingMark, plane_drawing};
pub use section::{SectionInput, SectionSheet, ShopHead, section_drawing};
pub use symbol::{HoleLook, HoleState, Quadrants};
