//! The results.

use super::admin::{identifications, item_id, maker, report, software};
use super::emitter::Emitter;
use super::problem::Fault;
use super::quantity::{expect, named, quantity, series};
use crate::digits::Digits;
use crate::model::{
    Condition, Conformity, Deviation, Direction, DirectionResult, Equipment, MeasurementResult, Method,
    ReadingsAt, Series, State,
};
use crate::terms;
use crate::unit::Unit;

pub(super) fn write(x: &mut Emitter<'_>, result: &MeasurementResult, items: usize) {
    x.with("dcc:measurementResult", &[("refId", &item_id(result.item))], |x| {
        if result.item >= items {
            x.fault(Fault::Index { what: "item", given: result.item, count: items });
        }
        x.text("dcc:name", &result.name);
        methods(x, &result.methods);
        if !result.software.is_empty() {
            software(x, "dcc:usedSoftware", &result.software);
        }
        if !result.equipment.is_empty() {
            x.element("dcc:measuringEquipments", |x| result.equipment.iter().for_each(|e| equipment(x, e)));
        }
        x.element("dcc:influenceConditions", |x| {
            if result.conditions.is_empty() {
                x.fault(Fault::Nothing { what: "influence condition" });
            }
            result.conditions.iter().for_each(|condition| write_condition(x, condition, result.state));
        });
        x.element("dcc:results", |x| {
            if result.directions.is_empty() {
                x.fault(Fault::Nothing { what: "direction" });
            }
            for (index, one) in result.directions.iter().enumerate() {
                if result.directions.iter().take(index).any(|other| other.direction == one.direction) {
                    x.fault(Fault::Once { what: one.direction.word(), given: 2 });
                }
                direction(x, one);
            }
        });
    });
}

/// The terms as an attribute, where there are any.
fn ref_type(term: Option<&String>) -> Vec<(&str, &str)> {
    term.iter().map(|term| ("refType", term.as_str())).collect()
}

fn methods(x: &mut Emitter<'_>, methods: &[Method]) {
    x.element("dcc:usedMethods", |x| {
        if methods.is_empty() {
            x.fault(Fault::Nothing { what: "method" });
        }
        for method in methods {
            x.with("dcc:usedMethod", &ref_type(method.ref_type.as_ref()), |x| {
                x.text("dcc:name", &method.name);
                x.maybe_text("dcc:description", method.description.as_ref());
                method.norms.iter().for_each(|norm| x.word("dcc:norm", norm));
                method.references.iter().for_each(|reference| x.word("dcc:reference", reference));
            });
        }
    });
}

fn equipment(x: &mut Emitter<'_>, equipment: &Equipment) {
    x.with("dcc:measuringEquipment", &ref_type(equipment.ref_type.as_ref()), |x| {
        x.text("dcc:name", &equipment.name);
        if let Some(certificate) = &equipment.certificate {
            report(x, "dcc:certificate", certificate);
        }
        maker(x, equipment.maker.as_deref());
        x.maybe_word("dcc:model", equipment.model.as_ref());
        identifications(x, &equipment.identifications);
    });
}

fn write_condition(x: &mut Emitter<'_>, condition: &Condition, state: Option<State>) {
    x.with("dcc:influenceCondition", &ref_type(condition.ref_type.as_ref()), |x| {
        x.text("dcc:name", &condition.name);
        if let Some(state) = state {
            x.word("dcc:status", state.word());
        }
        x.element("dcc:data", |x| {
            if condition.values.is_empty() {
                x.fault(Fault::Nothing { what: "value" });
            }
            condition.values.iter().for_each(|value| named(x, "dcc:quantity", value));
        });
    });
}

fn direction(x: &mut Emitter<'_>, result: &DirectionResult) {
    let points = result.nominal.values.len();
    let words = match result.direction {
        Direction::Clockwise => "Clockwise torque",
        Direction::CounterClockwise => "Counter-clockwise torque",
    };
    quantity(x, "dcc:result", &[result.direction.term()], |x| {
        x.name("dcc:name", words);
        x.maybe_text("dcc:description", result.remark.as_ref());
        x.element("dcc:data", |x| {
            quantity(x, "dcc:list", &[terms::POINTS, result.direction.term()], |x| {
                torque(x, "test points", &[terms::NOMINAL], "Test point", &result.nominal, points);
                let words = "Mean torque of the reference";
                torque(x, "reference torques", &[terms::REFERENCE_VALUE], words, &result.reference, points);
                if let Some(indicated) = &result.indicated {
                    let terms = [terms::MEASURED_VALUE, terms::INDICATED];
                    torque(x, "indicated torques", &terms, "Torque of the tool", indicated, points);
                }
                deviation(x, &result.deviation, points);
                for further in &result.further {
                    let (given, wanted) = (further.series.values.len(), points);
                    if given != wanted {
                        x.fault(Fault::Length { what: "values of a further quantity", given, wanted });
                    }
                    named(x, "dcc:quantity", further);
                }
            });
            for at in &result.readings {
                readings(x, at, &result.nominal, result.direction);
            }
        });
    });
}

fn torque(
    x: &mut Emitter<'_>,
    what: &'static str,
    terms: &[&str],
    words: &str,
    given: &Series,
    points: usize,
) {
    quantity(x, "dcc:quantity", terms, |x| {
        x.name("dcc:name", words);
        expect(x, what, given, points, true);
        series(x, given, None);
    });
}

fn deviation(x: &mut Emitter<'_>, deviation: &Deviation, points: usize) {
    quantity(x, "dcc:quantity", &[terms::MEASUREMENT_ERROR, terms::DEVIATION], |x| {
        x.name("dcc:name", "Relative deviation (indicated less reference, relative to reference)");
        expect(x, "deviations", &deviation.series, points, false);
        series(x, &deviation.series, deviation.expanded.as_ref());
        if has_meta(deviation) {
            x.element("dcc:measurementMetaData", |x| {
                quantity(x, "dcc:metaData", &[terms::CONFORMITY], |x| meta(x, deviation, points));
            });
        }
    });
}

fn limits(deviation: &Deviation) -> [(&'static str, &'static str, &Option<Vec<Digits>>); 4] {
    let limits = &deviation.limits;
    [
        ("basic_toleranceLimitLower", "Lower tolerance limit", &limits.tolerance_lower),
        ("basic_toleranceLimitUpper", "Upper tolerance limit", &limits.tolerance_upper),
        ("basic_acceptanceLimitLower", "Lower acceptance limit", &limits.acceptance_lower),
        ("basic_acceptanceLimitUpper", "Upper acceptance limit", &limits.acceptance_upper),
    ]
}

fn has_meta(deviation: &Deviation) -> bool {
    deviation.conformity.is_some() || limits(deviation).iter().any(|(_, _, values)| values.is_some())
}

fn meta(x: &mut Emitter<'_>, deviation: &Deviation, points: usize) {
    if let Some(conformity) = &deviation.conformity {
        conformity.norms.iter().for_each(|norm| x.word("dcc:norm", norm));
        x.text("dcc:declaration", &conformity.rule);
        let (given, wanted) = (conformity.values.len(), points);
        if given != wanted {
            x.fault_at("dcc:conformityXMLList", Fault::Length { what: "verdicts", given, wanted });
        }
        x.list("dcc:conformityXMLList", conformity.values.iter().map(|value: &Conformity| value.word()));
    }
    if limits(deviation).iter().all(|(_, _, values)| values.is_none()) {
        return;
    }
    let unit: Unit = deviation.series.unit;
    x.element("dcc:data", |x| {
        for (term, words, values) in limits(deviation) {
            let Some(values) = values else { continue };
            quantity(x, "dcc:quantity", &[term], |x| {
                x.name("dcc:name", words);
                let limit = Series::new(unit, values.clone());
                expect(x, "limits", &limit, points, false);
                series(x, &limit, None);
            });
        }
    });
}

fn readings(x: &mut Emitter<'_>, at: &ReadingsAt, nominal: &Series, direction: Direction) {
    quantity(x, "dcc:list", &[terms::READINGS, direction.term()], |x| {
        let Some(point) = nominal.values.get(at.point) else {
            return x.fault(Fault::Index {
                what: "test point",
                given: at.point,
                count: nominal.values.len(),
            });
        };
        let wanted = at.reference.values.len();
        let point = Series::new(nominal.unit, vec![point.clone()]);
        torque(x, "test point", &[terms::NOMINAL], "Test point", &point, 1);
        if let Some(indicated) = &at.indicated {
            let terms = [terms::MEASURED_VALUE, terms::INDICATED];
            torque(x, "indicated torques", &terms, "Torque of the tool", indicated, wanted);
        }
        let words = "Readings of the reference, corrected";
        torque(x, "readings", &[terms::REFERENCE_VALUE], words, &at.reference, wanted);
    });
}
