//! Quantities with their units and uncertainties.

use std::collections::BTreeSet;

use super::emitter::Emitter;
use super::problem::Fault;
use crate::digits::Digits;
use crate::model::{Certificate, Expanded, Named, Series};
use crate::unit::{NonSiUnit, Unit};

/// Every unit beside the SI that the certificate uses: each needs a statement.
pub(super) fn units_beside(certificate: &Certificate) -> BTreeSet<NonSiUnit> {
    let items = certificate.items.iter().flat_map(|item| &item.quantities).map(|named| &named.series);
    let results = certificate.results.iter().flat_map(|result| {
        let conditions = result.conditions.iter().flat_map(|condition| &condition.values);
        let directions = result.directions.iter().flat_map(|direction| {
            let readings = direction.readings.iter();
            [&direction.nominal, &direction.reference, &direction.deviation.series]
                .into_iter()
                .chain(&direction.indicated)
                .chain(direction.further.iter().map(|named| &named.series))
                .chain(readings.flat_map(|at| at.indicated.iter().chain([&at.reference])))
        });
        conditions.map(|named| &named.series).chain(directions)
    });
    items.chain(results).filter_map(|series| Some(series.beside.as_ref()?.unit)).collect()
}

/// A quantity with its name, without uncertainty.
pub(super) fn named(x: &mut Emitter<'_>, element: &'static str, named: &Named) {
    let terms: Vec<&str> = named.ref_types.iter().map(String::as_str).collect();
    quantity(x, element, &terms, |x| {
        x.text("dcc:name", &named.name);
        series(x, &named.series, None);
    });
}

/// An element with terms.
pub(super) fn quantity(
    x: &mut Emitter<'_>,
    element: &'static str,
    terms: &[&str],
    body: impl FnOnce(&mut Emitter<'_>),
) {
    if terms.iter().any(|term| term.is_empty() || term.contains(char::is_whitespace)) {
        x.fault_at(element, Fault::NotAWord { given: terms.join(" ") });
    }
    let joined = terms.join(" ");
    let attributes = [("refType", joined.as_str())];
    x.with(element, if terms.is_empty() { &[] } else { &attributes }, body);
}

/// The values: one as `si:real`, more as `si:realListXMLList`; with a second unit inside `si:hybrid`.
pub(super) fn series(x: &mut Emitter<'_>, series: &Series, expanded: Option<&Expanded>) {
    if series.values.is_empty() {
        x.fault(Fault::Nothing { what: "value" });
    }
    if let Some(expanded) = expanded {
        check(x, expanded, series.values.len());
    }
    let Some(beside) = &series.beside else {
        return values(x, series.unit.d_si(), &series.values, expanded);
    };
    let (given, wanted) = (beside.values.len(), series.values.len());
    if given != wanted {
        x.fault(Fault::Length { what: "values in the second unit", given, wanted });
    }
    if !series.unit.is_torque() {
        x.fault(Fault::Unit { given: series.unit.d_si(), wanted: "a torque stands beside a torque" });
    }
    x.element("si:hybrid", |x| {
        values(x, series.unit.d_si(), &series.values, expanded);
        values(x, beside.unit.mark(), &beside.values, None);
    });
}

fn values(x: &mut Emitter<'_>, unit: &str, values: &[Digits], expanded: Option<&Expanded>) {
    let one = values.len() == 1;
    x.element(if one { "si:real" } else { "si:realListXMLList" }, |x| {
        x.digits(if one { "si:value" } else { "si:valueXMLList" }, values);
        x.word(if one { "si:unit" } else { "si:unitXMLList" }, unit);
        match expanded {
            Some(expanded) if one => single(x, expanded),
            Some(expanded) => list(x, expanded),
            None => {}
        }
    });
}

fn single(x: &mut Emitter<'_>, expanded: &Expanded) {
    x.element("si:measurementUncertaintyUnivariate", |x| {
        x.element("si:expandedMU", |x| {
            x.digits("si:valueExpandedMU", &expanded.values);
            x.digits("si:coverageFactor", &expanded.k);
            x.digits("si:coverageProbability", &expanded.probability);
            x.maybe_word("si:distribution", expanded.distribution.as_ref());
        });
    });
}

fn list(x: &mut Emitter<'_>, expanded: &Expanded) {
    x.element("si:measurementUncertaintyUnivariateXMLList", |x| {
        x.element("si:expandedMUXMLList", |x| {
            x.digits("si:valueExpandedMUXMLList", &expanded.values);
            x.digits("si:coverageFactorXMLList", &expanded.k);
            x.digits("si:coverageProbabilityXMLList", &expanded.probability);
            x.maybe_word("si:distributionXMLList", expanded.distribution.as_ref());
        });
    });
}

/// What a list stands for, the list, and whether a number can be that.
type Test<'d> = (&'static str, &'d [Digits], &'d dyn Fn(&Digits) -> bool);

/// One for all or one a value; each in the form and the range that its type has.
fn check(x: &mut Emitter<'_>, expanded: &Expanded, wanted: usize) {
    let lists = [
        ("expanded uncertainties", &expanded.values),
        ("coverage factors", &expanded.k),
        ("coverage probabilities", &expanded.probability),
    ];
    for (what, list) in lists {
        if list.len() != 1 && list.len() != wanted {
            x.fault(Fault::Length { what, given: list.len(), wanted });
        }
    }
    let plain = |digits: &Digits| !digits.as_str().contains(['e', 'E']);
    let tests: [Test<'_>; 3] = [
        ("an expanded uncertainty", &expanded.values, &|d| !d.as_str().starts_with('-')),
        ("a coverage factor: 1 or more, without exponent", &expanded.k, &|d| {
            plain(d) && d.as_str().starts_with(|c: char| ('1'..='9').contains(&c))
        }),
        ("a coverage probability: 0 to 1, without exponent", &expanded.probability, &|d| {
            plain(d) && d.as_str().starts_with(['0', '1']) && (0.0..=1.0).contains(&d.value()) && {
                let whole = d.as_str().split('.').next().unwrap_or_default();
                whole.len() == 1
            }
        }),
    ];
    for (what, list, fits) in tests {
        for digits in list.iter().filter(|digits| !fits(digits)) {
            x.fault(Fault::Number { given: digits.to_string(), what });
        }
    }
    if let Some(word) = expanded.distribution.as_ref().filter(|word| word.contains(char::is_whitespace)) {
        x.fault(Fault::NotAWord { given: word.clone() });
    }
}

/// A series of a direction: as many values as there are test points, and of the kind that is wanted.
pub(super) fn expect(x: &mut Emitter<'_>, what: &'static str, given: &Series, wanted: usize, torque: bool) {
    if given.values.len() != wanted {
        x.fault(Fault::Length { what, given: given.values.len(), wanted });
    }
    let ratio = matches!(given.unit, Unit::Percent | Unit::One);
    if torque && !given.unit.is_torque() {
        x.fault(Fault::Unit { given: given.unit.d_si(), wanted: "a unit of torque" });
    }
    if !torque && !ratio {
        x.fault(Fault::Unit { given: given.unit.d_si(), wanted: r"\percent or \one" });
    }
}
