//! The edge between run folders, certificates and the ledger: what a laboratory does with its record,
//! before a command line says it.
//!
//! ```text
//! store        where a ledger is, and opening it
//! layout       a run folder as files of the record: its own ones and those outside that it names
//! recompute    the files of a run out of the record, evaluated; the result held against the recorded one
//! belongs      whether a run folder is a run of the job
//! documents    the certificate of a job, under the number that the ledger drew
//! tables       entries and derived tables as CSV, JSON and Parquet
//! ```
//!
//! Nothing here asks the clock or a person.

pub mod belongs;
pub mod documents;
pub mod exposure;
pub mod layout;
pub mod recompute;
pub mod store;
pub mod tables;
