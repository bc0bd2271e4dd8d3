//! The envelope of an event: fixed for ever.
//!
//! What is stored and hashed is the envelope's own JSON text. A newer version
//! of faying may write kinds that this one does not know: they are kept, and
//! shown as what they are.

use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use thiserror::Error;

use crate::event::Event;

/// Version of the envelope itself.
const VERSION: u32 = 1;

/// An event with all that is known about it.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Envelope {
    /// Version of the envelope: 1.
    pub v: u32,
    /// The act's own id, made where the act was done; a second sending of it is known by it.
    pub id: String,
    /// The copy of the record that wrote it.
    pub writer: String,
    /// Its number in that writer's chain, from 1.
    pub seq: u64,
    /// Hash of the row before, in hexadecimal digits.
    pub prev: String,
    /// Lamport number: greater than that of everything its writer had seen.
    pub order: u64,
    /// When, with the offset from universal time.
    pub at: String,
    /// Who did it.
    pub person: String,
    /// Number of the plan's revision that the names in it belong to; 0 before the first.
    pub revision: u64,
    /// Kind of event.
    pub kind: String,
    /// Version of that kind's body.
    pub kind_version: u32,
    /// What happened: its JSON as it was written, to the letter.
    pub body: Box<RawValue>,
}

/// Bytes that are not an event.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum EnvelopeError {
    /// Not the JSON of an envelope.
    #[error(
        "a row of the record cannot be read: {0}; restore the newest file of backups/, or run faying verify"
    )]
    Json(#[from] serde_json::Error),
    /// An envelope from a later version.
    #[error(
        "a row of the record has envelope version {0}, and this faying knows version 1; use the newer one"
    )]
    Newer(u32),
}

impl Envelope {
    /// The bytes that are stored and hashed.
    ///
    /// # Panics
    /// Never: an envelope is always JSON.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        serde_json::to_vec(self).expect("an envelope holds nothing that JSON cannot")
    }

    /// Reads stored bytes.
    ///
    /// # Errors
    /// [`EnvelopeError`] where they are not an envelope of this version.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, EnvelopeError> {
        let envelope: Self = serde_json::from_slice(bytes)?;
        if envelope.v == VERSION { Ok(envelope) } else { Err(EnvelopeError::Newer(envelope.v)) }
    }

    /// An envelope around an event; the chain's fields are filled by whoever keeps the chain.
    #[must_use]
    pub fn around(event: &Event, id: String, at: String, person: String, revision: u64) -> Self {
        let (kind, kind_version, body) = event.to_parts();
        Self {
            v: VERSION,
            id,
            writer: String::new(),
            seq: 0,
            prev: String::new(),
            order: 0,
            at,
            person,
            revision,
            kind: kind.to_owned(),
            kind_version,
            body,
        }
    }

    /// The event inside, lifted to the newest version of its kind.
    #[must_use]
    pub fn event(&self) -> Event {
        Event::from_parts(&self.kind, self.kind_version, &self.body)
    }
}
