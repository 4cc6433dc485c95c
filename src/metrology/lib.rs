//! The pure core of leverarm: the quantities, rulebooks, statistics, budgets and decisions by
//! which the readings of a hand torque tool become a judged evaluation.
//!
//! Nothing here reads a file, a clock or a database, and nothing here prints. The whole pipeline
//! is one function, [`evaluate::evaluate`], which a test, a batch of ten thousand tools and a
//! customer who rechecks a certificate all call alike.
//!
//! Terms are those of the VIM (JCGM 200), the GUM (JCGM 100) and ISO 6789.

pub mod budget;
pub mod check;
pub mod covariance;
pub mod coverage;
pub mod curve;
pub mod decision;
pub mod evaluate;
pub mod exposure;
pub mod finding;
pub mod floor;
pub mod low_pass;
pub mod monte_carlo;
pub mod quantity;
pub mod reading;
pub mod reference;
pub mod risk;
pub mod rounding;
pub mod rulebook;
pub mod run;
pub mod sequence;
pub mod statistics;
pub mod study;
pub mod tool;
pub mod under;
