//! The terms (`refType`) that a certificate of leverarm uses.
//!
//! Those with the prefix `basic_` belong to the general vocabulary of the DCC (the ones used stand in
//! `standards-notes/dcc.md`). No published vocabulary for torque was found: the others are our own, with
//! the prefix `leverarm_`, and the certificate itself carries their definitions.

/// Prefix and namespace of our own terms.
pub const NAMESPACE: &str = "leverarm";
/// Where the definition of the terms is said to live; nothing is fetched from it.
pub const LINK: &str = "https://leverarm.example/dcc-terms/1";

/// An own term with its definition.
pub type Term = (&'static str, &'static str);

/// torque clockwise
pub const CLOCKWISE: &str = "leverarm_clockwise";
/// torque counter-clockwise
pub const COUNTER_CLOCKWISE: &str = "leverarm_counterClockwise";
/// the table of the test points of a direction
pub const POINTS: &str = "leverarm_testPoints";
/// the table of single readings at a test point
pub const READINGS: &str = "leverarm_readings";
/// standard deviation of a deviation
pub const STANDARD_DEVIATION: &str = "leverarm_standardDeviation";
/// greatest less least deviation
pub const SPREAD: &str = "leverarm_spread";
/// W′ of ISO 6789-2
pub const INTERVAL: &str = "leverarm_relativeUncertaintyInterval";
/// probability that the true deviation lies within the limits
pub const CONFORMITY_PROBABILITY: &str = "leverarm_conformityProbability";
/// the relative deviation
pub const DEVIATION: &str = "leverarm_relativeDeviation";
/// the printed certificate
pub const PRINTED: &str = "leverarm_printedCertificate";
/// what the tool was set to or showed
pub const INDICATED: &str = "leverarm_indicated";

/// Every own term.
pub const OWN: [Term; 11] = [
    (CLOCKWISE, "torque that tightens a right-hand thread"),
    (COUNTER_CLOCKWISE, "torque that loosens a right-hand thread"),
    (POINTS, "one value a test point, in the order of rising torque"),
    (READINGS, "one value a reading, in the order of the work"),
    (STANDARD_DEVIATION, "experimental standard deviation of a single relative deviation"),
    (SPREAD, "greatest less least relative deviation at a test point"),
    (INTERVAL, "relative measurement uncertainty interval W' of ISO 6789-2:2017"),
    (CONFORMITY_PROBABILITY, "probability that the true deviation lies within the limits"),
    (DEVIATION, "indicated less reference torque, relative to the reference torque"),
    (PRINTED, "the certificate as it is printed: file name, then hash"),
    (INDICATED, "torque to which the tool was set, or which it showed"),
];

/// The value that a tool or its scale names.
pub const NOMINAL: &str = "basic_nominalValue";
/// The value that the reference gave.
pub const REFERENCE_VALUE: &str = "basic_referenceValue";
/// A measured value.
pub const MEASURED_VALUE: &str = "basic_measuredValue";
/// A measured value less the reference value.
pub const MEASUREMENT_ERROR: &str = "basic_measurementError";
/// A statement of conformity.
pub const CONFORMITY: &str = "basic_conformity";
/// Equipment that served as measurement standard.
pub const STANDARD_USED: &str = "basic_standardUsed";
/// The method of calibration.
pub const METHOD: &str = "basic_calibrationMethod";
