//! One run at the bench: tools, set-ups, settings, order.
//!
//! A run is the holes of one step that are filled now. [`reach`] says which
//! tools get at a hole, [`settings`] which stacks share a setting, [`order`]
//! in which order few things are changed; [`run()`] puts them together.
//! [`learn`] turns measured heads and recorded times into better figures;
//! [`control`] says how surely heads, readings and counts speak.
//! [`sop`] is the general solver behind the order.
//!
//! Settings are shown only as changes from a head proven on scrap. This room
//! does not decide what stays open; `sequence` has said so.

pub mod control;
pub mod learn;
mod need;
pub mod order;
pub mod reach;
mod run;
pub mod settings;
pub mod sop;

pub use need::{Need, need};
pub use run::{
    Asked, BagLine, Bench, Change, Choice, Clecoes, Proven, Reckoning, Run, SetUp, StackOf, adjust, aim_at,
    dies_key, head_side, opening_words, run, yoke_key,
};
