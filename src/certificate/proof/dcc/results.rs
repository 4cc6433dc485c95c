//! The results of a run: by what, in what air, and what came out at each test point.

use leverarm_dcc::model::{
    Condition, Conformities, Deviation, Direction, DirectionResult, Equipment, Expanded, Identification,
    Issuer, Limits, MeasurementResult, Method, Named, ReadingsAt, Series, State,
};
use leverarm_dcc::{Digits, Unit, terms};
use leverarm_metrology::decision::{DecisionRule, Sides};
use leverarm_metrology::evaluate::PointResult;
use leverarm_metrology::reading;
use leverarm_metrology::rounding::{RoundingRule, round_decimals, round_result};
use leverarm_metrology::run::Condition as RunCondition;

use super::DccError;
use super::admin::{conformity, one_line, software, text};
use super::quantities::{Torque, percentages, series};
use crate::certificate::compose::Judged;
use crate::certificate::view::VerdictView;
use crate::printed::{PrintedPoint, trimmed};

pub(super) fn result(judged: &Judged<'_>, words: &VerdictView) -> Result<MeasurementResult, DccError> {
    let certificate = &judged.rulebook.certificate;
    let mut directions = Vec::new();
    for direction in [reading::Direction::Clockwise, reading::Direction::CounterClockwise] {
        let points: Vec<&PointResult> =
            judged.evaluation.points.iter().filter(|point| point.direction == direction).collect();
        if !points.is_empty() {
            directions.push(of_direction(judged, direction, &points)?);
        }
    }
    Ok(MeasurementResult {
        name: text(&words.condition),
        item: 0,
        state: match judged.run.condition {
            RunCondition::AsFound => Some(State::BeforeAdjustment),
            RunCondition::AsLeft => Some(State::AfterAdjustment),
            RunCondition::New => None,
        },
        methods: vec![Method {
            ref_type: Some(terms::METHOD.to_owned()),
            name: text(&certificate.method),
            description: Some(text(&certificate.statement)),
            norms: vec![certificate.method.clone()],
            references: Vec::new(),
        }],
        software: vec![software()],
        equipment: vec![equipment(judged)],
        conditions: conditions(judged)?,
        directions,
    })
}

fn equipment(judged: &Judged<'_>) -> Equipment {
    let reference = judged.reference;
    let number = |issuer, value: &str, name: &str| Identification {
        issuer,
        value: one_line(value),
        name: Some(text(name)),
    };
    Equipment {
        ref_type: Some(terms::STANDARD_USED.to_owned()),
        name: text(&reference.description),
        certificate: None,
        maker: None,
        model: None,
        identifications: vec![
            number(Issuer::Laboratory, &reference.id, "Reference"),
            number(Issuer::Manufacturer, &reference.serial, "Serial number"),
            number(Issuer::Other, &reference.certificate, "Calibration certificate"),
        ],
    }
}

fn conditions(judged: &Judged<'_>) -> Result<Vec<Condition>, DccError> {
    let room = &judged.run.environment;
    let named = |term: &str, name: &str, unit: Unit, value: Option<f64>| -> Result<_, DccError> {
        // The shortest digits that give the number back are those that were written.
        let Some(value) = value else { return Ok(None) };
        let series = Series::new(unit, vec![Digits::new(&value.to_string())?]);
        Ok(Some(Named { ref_types: vec![term.to_owned()], name: text(name), series }))
    };
    let of = |term: &str, name: &str, unit: Unit, start, end| -> Result<_, DccError> {
        let start = named("leverarm_start", "At the start", unit, start)?;
        let end = named("leverarm_end", "At the end", unit, end)?;
        let values: Vec<Named> = start.into_iter().chain(end).collect();
        let condition = Condition { ref_type: Some(term.to_owned()), name: text(name), values };
        Ok((!condition.values.is_empty()).then_some(condition))
    };
    let (start, end) = (room.temperature_start.map(|t| t.0), room.temperature_end.map(|t| t.0));
    let temperature = of("basic_temperature", "Air temperature", Unit::DegreeCelsius, start, end)?;
    let (start, end) = (room.humidity_start.map(|h| h.value()), room.humidity_end.map(|h| h.value()));
    let humidity = of("basic_humidityRelative", "Relative humidity", Unit::Percent, start, end)?;
    Ok(temperature.into_iter().chain(humidity).collect())
}

fn of_direction(
    judged: &Judged<'_>,
    direction: reading::Direction,
    points: &[&PointResult],
) -> Result<DirectionResult, DccError> {
    let rounding = RoundingRule::default();
    let printed: Vec<PrintedPoint> =
        points.iter().map(|point| PrintedPoint::new(point, rounding)).collect::<Result<_, _>>()?;
    let nominal: Vec<Torque> = points.iter().map(|point| Torque::of(&point.target)).collect();
    let reference: Vec<Torque> = points
        .iter()
        .zip(&printed)
        .map(|(point, printed)| mean_reference(point, printed, rounding))
        .collect::<Result<_, _>>()?;
    let mut readings = Vec::new();
    for (place, point) in points.iter().enumerate() {
        readings.push(readings_at(place, point)?);
    }
    Ok(DirectionResult {
        direction: match direction {
            reading::Direction::Clockwise => Direction::Clockwise,
            reading::Direction::CounterClockwise => Direction::CounterClockwise,
        },
        nominal: series(&nominal)?,
        reference: series(&reference)?,
        indicated: None,
        deviation: Deviation {
            series: percentages(printed.iter().map(|p| p.mean_deviation.as_str()))?,
            expanded: expanded(judged, &printed)?,
            limits: limits(points, &printed)?,
            conformity: conformities(judged, points),
        },
        further: further(&printed)?,
        readings,
        remark: None,
    })
}

fn mean_reference(
    point: &PointResult,
    printed: &PrintedPoint,
    rounding: RoundingRule,
) -> Result<Torque, DccError> {
    let mean = point.mean_reference;
    let expanded = point.uncertainty.as_ref().map(|u| mean.share(u.expanded.expanded).newton_metres());
    let rounded = match expanded.filter(|w| *w > 0.0) {
        Some(w) => Some(round_result(mean.newton_metres(), w, rounding)?.result.to_string()),
        None => None,
    };
    Ok(Torque {
        unit: point.target.unit(),
        digits: printed.mean_reference.clone(),
        newton_metres: mean.newton_metres(),
        rounded,
    })
}

/// W with its k, where every point has both.
fn expanded(judged: &Judged<'_>, printed: &[PrintedPoint]) -> Result<Option<Expanded>, DccError> {
    let Some(plan) = &judged.rulebook.budget else { return Ok(None) };
    let values: Option<Vec<&String>> = printed.iter().map(|p| p.expanded.as_ref()).collect();
    let k: Option<Vec<&String>> = printed.iter().map(|p| p.k.as_ref()).collect();
    let (Some(values), Some(k)) = (values, k) else { return Ok(None) };
    let digits =
        |list: Vec<&String>| list.into_iter().map(|text| Digits::new(text)).collect::<Result<Vec<_>, _>>();
    Ok(Some(Expanded {
        values: digits(values)?,
        k: digits(k)?,
        probability: vec![Digits::new(&trimmed(plan.probability.value / 100.0)?)?],
        distribution: None,
    }))
}

/// A list of limits on one side; none where nothing limits there.
type Side = Option<Vec<Digits>>;

fn limits(points: &[&PointResult], printed: &[PrintedPoint]) -> Result<Limits, DccError> {
    let sides = points.first().map_or(Sides::Both, |point| point.sides);
    let both = |texts: Vec<&str>| -> Result<(Side, Side), DccError> {
        let upper: Vec<Digits> = texts.into_iter().map(Digits::new).collect::<Result<_, _>>()?;
        let lower: Vec<Digits> = upper.iter().map(Digits::negated).collect();
        Ok(match sides {
            Sides::Both => (Some(lower), Some(upper)),
            Sides::Upper => (None, Some(upper)),
            Sides::Lower => (Some(lower), None),
        })
    };
    let (tolerance_lower, tolerance_upper) = both(printed.iter().map(|p| p.limit.as_str()).collect())?;
    // Where a rule accepts nothing at some point there is no acceptance limit to state.
    let acceptance: Option<Vec<&str>> =
        printed.iter().map(|p| p.acceptance_limit.as_deref().filter(|text| *text != "none")).collect();
    let (acceptance_lower, acceptance_upper) = match acceptance {
        Some(texts) => both(texts)?,
        None => (None, None),
    };
    Ok(Limits { tolerance_lower, tolerance_upper, acceptance_lower, acceptance_upper })
}

fn conformities(judged: &Judged<'_>, points: &[&PointResult]) -> Option<Conformities> {
    let rule = judged.evaluation.rule?;
    let values = points.iter().map(|point| conformity(point.verdict)).collect::<Option<Vec<_>>>()?;
    Some(Conformities {
        rule: text(&DecisionRule::words(rule)),
        norms: vec![judged.rulebook.certificate.method.clone()],
        values,
    })
}

/// Standard deviation, spread and W′, each where every point has it.
fn further(printed: &[PrintedPoint]) -> Result<Vec<Named>, DccError> {
    type Of = fn(&PrintedPoint) -> Option<&str>;
    let all: [(&str, &str, Of); 3] = [
        (terms::STANDARD_DEVIATION, "Standard deviation", |p| p.standard_deviation.as_deref()),
        (terms::SPREAD, "Spread", |p| Some(p.spread.as_str())),
        (terms::INTERVAL, "Relative uncertainty interval W′", |p| p.interval.as_deref()),
    ];
    let mut named = Vec::new();
    for (term, name, of) in all {
        if let Some(values) = printed.iter().map(of).collect::<Option<Vec<&str>>>() {
            let series = percentages(values.into_iter())?;
            named.push(Named { ref_types: vec![term.to_owned()], name: text(name), series });
        }
    }
    Ok(named)
}

/// The single readings: what the tool said, and the corrected torque to one digit more than was shown.
fn readings_at(place: usize, point: &PointResult) -> Result<ReadingsAt, DccError> {
    let indicated: Vec<Torque> = point.readings.iter().map(|r| Torque::of(&r.indicated)).collect();
    let mut reference = Vec::new();
    for reading in &point.readings {
        let unit = reading.shown.unit();
        let decimals = reading.shown.decimals() + 1;
        reference.push(Torque {
            unit,
            digits: round_decimals(reading.reference.in_unit(unit), decimals)?.to_string(),
            newton_metres: reading.reference.newton_metres(),
            rounded: None,
        });
    }
    Ok(ReadingsAt { point: place, indicated: Some(series(&indicated)?), reference: series(&reference)? })
}
