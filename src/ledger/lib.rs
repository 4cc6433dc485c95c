//! The laboratory's record: events in a signed hash chain, the rules of who may do what, and the
//! stores that keep them.
//!
//! It knows no metrology. Run folders, evaluations and certificates are files, kept under the
//! SHA-256 of their bytes; events name them and say a few facts. Recomputing an evaluation is the
//! work of the caller of [`verify::verify`].
//!
//! ```text
//! event, text, bytes   what happened, as it stands in the record
//! keys                 who signs
//! entry                an event in the chain: canonical bytes, hash, signature
//! state                the record as it stands: the fold of the events
//! refusal, rules       who may record what, and when
//! derived              tables for questions, each line a function of the state
//! store                what keeps it: memory, SQLite, PostgreSQL
//! ledger               a store with its state: lock, catch up, decide, append, commit
//! verify               everything held against everything
//! ```

pub mod bytes;
pub mod derived;
pub mod entry;
mod error;
pub mod event;
pub mod keys;
mod ledger;
mod refusal;
pub mod rules;
pub mod state;
pub mod store;
pub mod text;
pub mod verify;

pub use error::LedgerError;
pub use ledger::{Clock, Documents, Ledger, Render};
pub use refusal::{Kind, Refusal};
