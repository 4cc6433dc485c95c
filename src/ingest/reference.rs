//! The reference file: a transducer, its certificate and its calibration, one curve a direction.

use leverarm_metrology::quantity::{Percent, Torque};
use leverarm_metrology::reading::{Direction, Recorded};
use leverarm_metrology::reference::{
    CalibrationCurve, CalibrationPoint, Reference, ReferenceError, TemperatureEffect,
};

use super::checks;
use super::page::Sink;
use super::range::range;
use super::table::Table;
use super::value::{Fault, percent, temperature, torque};
use super::words::one_of;

/// A value that is written as a torque or in percent of the applied torque.
enum Amount {
    Torque(Recorded),
    Percent(Percent),
}

impl Amount {
    fn read(text: &str) -> Result<Amount, Fault> {
        if text.contains('%') { percent(text).map(Amount::Percent) } else { torque(text).map(Amount::Torque) }
    }

    fn of(&self, applied: Torque) -> Torque {
        match self {
            Amount::Torque(torque) => torque.torque(),
            Amount::Percent(percent) => applied.share(*percent),
        }
    }
}

/// Reads a reference; `None` where something in it cannot be read.
pub(super) fn read(root: &Table<'_, '_>, sink: &mut Sink) -> Option<Reference> {
    root.only(sink);
    let text =
        |sink: &mut Sink, key: &str, wanted: &str| root.need_text(sink, key, wanted).map(str::to_owned);
    let id = text(sink, "id", "the laboratory's name for the reference");
    let description = text(sink, "description", "what it is, in words");
    let serial = text(sink, "serial", "its serial number");
    let certificate = text(sink, "certificate", "the number of its calibration certificate");
    let calibrated_by = text(sink, "calibrated_by", "who calibrated it");
    let traceability = root.string(sink, "traceability");
    let calibrated_on = root.need_date(sink, "calibrated_on");
    let due = root.need_date(sink, "due");
    let span = root.need(sink, "range", "10 N·m .. 250 N·m", range);
    let resolution = root.need(sink, "resolution", "0.01 N·m", torque);
    if !root.has("resolution_included") {
        sink.missing(
            "resolution_included",
            "true or false",
            "add `resolution_included = true` where the uncertainty on its certificate holds its resolution, else false",
        );
    }
    let resolution_included = root.boolean(sink, "resolution_included");
    let drift_per_year = root.value(sink, "drift_per_year", "0.05 %", percent);
    let interpolation = root.value(sink, "interpolation", "0.02 %", percent);
    let temperature = root.table(sink, "temperature").and_then(|table| temperature_effect(&table, sink));
    let curves = curves(root, sink);
    let reference = Reference {
        id: id?,
        description: description?,
        serial: serial?,
        certificate: certificate?,
        calibrated_by: calibrated_by?,
        traceability,
        calibrated_on: calibrated_on?,
        due: due?,
        range: span?,
        resolution: resolution?,
        resolution_included: resolution_included?,
        curves,
        drift_per_year,
        interpolation,
        temperature,
    };
    if sink.is_clean() { Some(reference) } else { None }
}

fn temperature_effect(table: &Table<'_, '_>, sink: &mut Sink) -> Option<TemperatureEffect> {
    table.only(sink);
    let per_kelvin = table.need(sink, "per_kelvin", "0.01 %", percent);
    let calibrated_at = table.need(sink, "calibrated_at", "21 °C", temperature);
    Some(TemperatureEffect { per_kelvin: per_kelvin?, calibrated_at: calibrated_at? })
}

fn curves(root: &Table<'_, '_>, sink: &mut Sink) -> Vec<CalibrationCurve> {
    if !root.has("curve") {
        sink.missing(
            "curve",
            "one calibration curve a direction",
            "add a table [[curve]] with direction, k and points",
        );
    }
    let mut curves: Vec<CalibrationCurve> = Vec::new();
    for table in root.tables(sink, "curve").unwrap_or_default() {
        let Some(curve) = curve(&table, sink) else { continue };
        if let (true, Some(entry)) =
            (curves.iter().any(|c| c.direction == curve.direction), table.entry("direction"))
        {
            let message = format!("there are two curves for {}", curve.direction);
            let fault = Fault::new(
                &checks::REFERENCE_CURVE,
                message,
                "one curve a direction",
                "join or remove one of the two curves",
            );
            sink.fault(&entry.path, &entry.span, curve.direction.word(), fault);
        }
        curves.push(curve);
    }
    curves
}

fn curve(table: &Table<'_, '_>, sink: &mut Sink) -> Option<CalibrationCurve> {
    table.only(sink);
    let direction = table.need(sink, "direction", "clockwise", |text| {
        one_of(text, &checks::VALUE_UNKNOWN, &["clockwise", "counter-clockwise"], Direction::parse)
    });
    let k = table.factor(sink, "k");
    if !table.has("points") {
        sink.missing(&table.path("points"), "two or more calibration points", "add a list `points = [ … ]`");
    }
    let tables = table.tables(sink, "points")?;
    let rows = tables.len();
    let needs_k = !table.has("k") && tables.iter().any(|point| !point.has("k"));
    if needs_k {
        sink.missing(
            &table.path("k"),
            "the coverage factor of the expanded uncertainties",
            "add `k = 2.0`, or k to each point",
        );
    }
    let whole = table.entry("points").map_or(0, |entry| match entry.value {
        toml::de::DeValue::Array(items) => items.len(),
        _ => 0,
    });
    let points: Vec<CalibrationPoint> = tables.iter().filter_map(|row| point(row, sink, k)).collect();
    if points.len() != rows || rows != whole {
        return None;
    }
    match CalibrationCurve::new(direction?, points) {
        Ok(curve) => Some(curve),
        Err(error) => {
            curve_fault(table, &tables, sink, &error);
            None
        }
    }
}

fn point(table: &Table<'_, '_>, sink: &mut Sink, k: Option<f64>) -> Option<CalibrationPoint> {
    table.only(sink);
    let k = if table.has("k") { table.factor(sink, "k") } else { k };
    let expanded = table.need(sink, "expanded", "0.3 N·m", Amount::read);
    let (applied, indicated) = if table.has("torque") || table.has("deviation") {
        for key in ["indicated", "applied"] {
            if let Some(entry) = table.entry(key) {
                let fault = Fault::new(
                    &checks::SAID_TWICE,
                    format!("the point has `torque` with `deviation` and also `{key}`"),
                    "indicated with applied, or torque with deviation",
                    format!("remove `{key}`"),
                );
                sink.fault(&entry.path, &entry.span, "both", fault);
            }
        }
        let applied = table.need(sink, "torque", "100 N·m", torque).map(|t| t.torque());
        let deviation = table.need(sink, "deviation", "-0.1 %", Amount::read);
        // The deviation is indicated less applied, over applied.
        (applied, applied.zip(deviation).map(|(applied, deviation)| applied + deviation.of(applied)))
    } else {
        let indicated = table.need(sink, "indicated", "99.9 N·m", torque).map(|t| t.torque());
        (table.need(sink, "applied", "100.0 N·m", torque).map(|t| t.torque()), indicated)
    };
    let applied = applied?;
    Some(CalibrationPoint { indicated: indicated?, applied, expanded: expanded?.of(applied), k: k? })
}

fn curve_fault(table: &Table<'_, '_>, points: &[Table<'_, '_>], sink: &mut Sink, error: &ReferenceError) {
    let (index, remedy) = match error {
        ReferenceError::NotRising { index } => {
            (Some(*index), "list the points from the lowest torque to the highest, each once")
        }
        ReferenceError::Uncertainty { index } => {
            (Some(*index), "write the expanded uncertainty and k of the certificate")
        }
        _ => (None, "list the points of the certificate, two or more"),
    };
    let row = index.and_then(|i| points.get(i.saturating_sub(1)));
    let keys: &[&str] = match error {
        ReferenceError::Uncertainty { .. } => &["expanded", "k"],
        _ => &["indicated", "torque"],
    };
    let entry =
        row.and_then(|row| keys.iter().find_map(|key| row.entry(key))).or_else(|| table.entry("points"));
    if let Some(entry) = entry {
        let fault = Fault::new(
            &checks::REFERENCE_CURVE,
            error.to_string(),
            "two or more rising points, each with uncertainty above zero and k of at least 1",
            remedy,
        );
        let given = match entry.value {
            toml::de::DeValue::String(text) => text.to_string(),
            _ => format!("{} points", points.len()),
        };
        sink.fault(&entry.path, &entry.span, &given, fault);
    }
}
