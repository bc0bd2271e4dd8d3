//! Drawings and lists, to a sketch of a plan.
//!
//! [`read`] takes the bytes of a DXF file; [`sketch`](sketch::Sketch::of)
//! makes rows, outlines and cut-outs of it, with the text of a plane to put
//! into a plan; [`lists`] reads rows pasted from elsewhere. The builder
//! decides what becomes of any of it: nothing here writes a plan, opens a file
//! or joins the plan's model.

pub mod dxf;
pub mod lists;
pub mod sketch;

pub use dxf::{Drawing, DrawingUnits, read};
