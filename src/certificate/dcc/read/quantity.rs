//! A quantity: values, unit, uncertainty; `si:real`, lists old and new, and hybrids.

use super::fault::{ReadError, ReadFault};
use super::label::{Label, label, terms};
use super::table::{Beside, Column, Expanded, MAX_ALL_VALUES, Meta};
use super::tree::{At, Space, Spot, cut};
use crate::digits::Digits;
use crate::unit::{Dimension, dimension};

/// Values of a list.
pub const MAX_VALUES: usize = 10_000;

/// Numbers, units and verdicts of the whole file: what is left of [`MAX_ALL_VALUES`].
pub(super) struct Budget(pub(super) usize);

impl Budget {
    fn take(&mut self, at: At<'_>) -> Result<(), ReadError> {
        match self.0.checked_sub(1) {
            Some(left) => {
                self.0 = left;
                Ok(())
            }
            None => {
                let (given, limit) = (MAX_ALL_VALUES + 1, MAX_ALL_VALUES);
                Err(at.fault(ReadFault::Limit { what: "values of the file", given, limit }))
            }
        }
    }
}

/// The names of the elements, which differ between a single value and a list.
struct Names {
    value: &'static str,
    unit: &'static str,
    univariate: &'static str,
    expanded: &'static str,
    expanded_value: &'static str,
    k: &'static str,
    probability: &'static str,
    distribution: &'static str,
    old: &'static str,
    old_value: &'static str,
    old_interval: &'static str,
}

const SINGLE: Names = Names {
    value: "value",
    unit: "unit",
    univariate: "measurementUncertaintyUnivariate",
    expanded: "expandedMU",
    expanded_value: "valueExpandedMU",
    k: "coverageFactor",
    probability: "coverageProbability",
    distribution: "distribution",
    old: "expandedUnc",
    old_value: "uncertainty",
    old_interval: "coverageInterval",
};

const LIST: Names = Names {
    value: "valueXMLList",
    unit: "unitXMLList",
    univariate: "measurementUncertaintyUnivariateXMLList",
    expanded: "expandedMUXMLList",
    expanded_value: "valueExpandedMUXMLList",
    k: "coverageFactorXMLList",
    probability: "coverageProbabilityXMLList",
    distribution: "distributionXMLList",
    old: "expandedUncXMLList",
    old_value: "uncertaintyXMLList",
    old_interval: "coverageIntervalXMLList",
};

/// Values with their unit.
struct Values {
    spot: Spot,
    values: Vec<Digits>,
    units: Vec<String>,
    unit_spot: Spot,
    expanded: Option<Expanded>,
    other_uncertainty: Option<String>,
}

/// A quantity as a column; `None` where it holds no real numbers.
pub(super) fn column(at: At<'_>, budget: &mut Budget) -> Result<Option<Column>, ReadError> {
    let Some((chosen, beside)) = values(at, budget)? else { return Ok(None) };
    let relative = at.dcc("relativeUncertainty").map(|_| "dcc:relativeUncertainty".to_owned());
    Ok(Some(Column {
        id: at.attribute("id").map(str::to_owned),
        terms: terms(at),
        name: at.dcc("name").map_or_else(Label::default, label),
        values: chosen.values,
        units: chosen.units,
        expanded: chosen.expanded,
        other_uncertainty: chosen.other_uncertainty.or(relative),
        beside,
        meta: meta(at, budget)?,
        spot: chosen.spot,
        unit_spot: chosen.unit_spot,
    }))
}

fn values(at: At<'_>, budget: &mut Budget) -> Result<Option<(Values, Vec<Beside>)>, ReadError> {
    let alone = |values: Values| Some((values, Vec::new()));
    if let Some(hybrid) = at.si("hybrid") {
        return hybrid_values(hybrid, budget).map(Some);
    }
    if let Some(list) = at.si("list") {
        let inner: Vec<At<'_>> = list.children().filter(|child| is_real(*child)).collect();
        return match inner.as_slice() {
            [one] => of(*one, budget).map(alone),
            _ => Ok(None),
        };
    }
    at.children().find(|child| is_real(*child)).map_or(Ok(None), |child| of(child, budget).map(alone))
}

fn is_real(at: At<'_>) -> bool {
    ["real", "constant", "realListXMLList", "realList"].iter().any(|name| at.is(Space::Si, name))
}

fn of(at: At<'_>, budget: &mut Budget) -> Result<Values, ReadError> {
    if at.is(Space::Si, "realList") {
        real_list(at, budget)
    } else if at.is(Space::Si, "realListXMLList") {
        read(at, &LIST, budget)
    } else {
        read(at, &SINGLE, budget)
    }
}

/// The quantity in SI units of several that say the same; a torque or ratio where one is.
fn hybrid_values(hybrid: At<'_>, budget: &mut Budget) -> Result<(Values, Vec<Beside>), ReadError> {
    let mut all = Vec::new();
    for child in hybrid.children().filter(|child| is_real(*child)) {
        all.push(of(child, budget)?);
    }
    let kind = |values: &Values| values.units.first().map_or(Dimension::Other, |unit| dimension(unit));
    let useful = |values: &Values| matches!(kind(values), Dimension::Torque { .. } | Dimension::Ratio { .. });
    let chosen = all
        .iter()
        .position(useful)
        .or_else(|| all.iter().position(|values| kind(values) != Dimension::NonSi))
        .ok_or_else(|| hybrid.fault(ReadFault::NoSi))?;
    let values = all.remove(chosen);
    let beside = all.into_iter().map(|other| Beside { units: other.units, values: other.values }).collect();
    Ok((values, beside))
}

fn numbers(at: At<'_>, budget: &mut Budget) -> Result<Vec<Digits>, ReadError> {
    let mut numbers = Vec::new();
    for word in at.text().split_ascii_whitespace() {
        if numbers.len() >= MAX_VALUES {
            let (given, limit) = (numbers.len() + 1, MAX_VALUES);
            return Err(at.fault(ReadFault::Limit { what: "values of a list", given, limit }));
        }
        budget.take(at)?;
        numbers.push(Digits::new(word).map_err(|error| at.fault(ReadFault::Number { error }))?);
    }
    if numbers.is_empty() {
        Err(at.fault(ReadFault::Text { given: String::new(), wanted: "a number" }))
    } else {
        Ok(numbers)
    }
}

/// One for all or one for each.
fn fits(at: At<'_>, given: usize, values: usize) -> Result<(), ReadError> {
    if given == 1 || given == values { Ok(()) } else { Err(at.fault(ReadFault::Length { given, values })) }
}

fn read(at: At<'_>, names: &Names, budget: &mut Budget) -> Result<Values, ReadError> {
    let value = at.need(Space::Si, names.value)?;
    let values = numbers(value, budget)?;
    let unit = at.need(Space::Si, names.unit)?;
    let units: Vec<String> = unit.text().split_ascii_whitespace().take(MAX_VALUES + 1).map(cut).collect();
    fits(unit, units.len(), values.len())?;
    units.iter().try_for_each(|_| budget.take(unit))?;
    let (expanded, other_uncertainty) = uncertainty(at, names, values.len(), budget)?;
    Ok(Values { spot: at.spot(), values, units, unit_spot: unit.spot(), expanded, other_uncertainty })
}

/// The expanded uncertainty, or the name of another kind that is given in its place.
fn uncertainty(
    at: At<'_>,
    names: &Names,
    values: usize,
    budget: &mut Budget,
) -> Result<(Option<Expanded>, Option<String>), ReadError> {
    if let Some(univariate) = at.si(names.univariate) {
        return match univariate.si(names.expanded) {
            Some(expanded) => {
                expansion(expanded, names.expanded_value, names, values, budget).map(|e| (Some(e), None))
            }
            None => Ok((None, univariate.children().next().map(At::name))),
        };
    }
    if let Some(old) = at.si(names.old) {
        return expansion(old, names.old_value, names, values, budget).map(|e| (Some(e), None));
    }
    Ok((None, at.si(names.old_interval).map(At::name)))
}

fn expansion(
    at: At<'_>,
    value: &'static str,
    names: &Names,
    values: usize,
    budget: &mut Budget,
) -> Result<Expanded, ReadError> {
    let mut list = |name: &'static str, wanted: &'static str, fit: &dyn Fn(f64) -> bool| {
        let child = at.need(Space::Si, name)?;
        let list = numbers(child, budget)?;
        fits(child, list.len(), values)?;
        match list.iter().find(|digits| !fit(digits.value())) {
            Some(digits) => Err(child.fault(ReadFault::Text { given: cut(digits.as_str()), wanted })),
            None => Ok(list),
        }
    };
    Ok(Expanded {
        values: list(value, "an expanded uncertainty, 0 or more", &|v| v >= 0.0)?,
        k: list(names.k, "a coverage factor, 1 or more", &|k| k >= 1.0)?,
        probability: list(names.probability, "a probability, 0 to 1", &|p| (0.0..=1.0).contains(&p))?,
        distribution: at.si(names.distribution).map(|child| cut(child.text())),
        spot: at.spot(),
    })
}

/// The list of whole `si:real`, with what all have in common said once.
fn real_list(at: At<'_>, budget: &mut Budget) -> Result<Values, ReadError> {
    let common_unit = at.si("listUnit");
    let common =
        ["listMeasurementUncertaintyUnivariate", "listUnivariateUnc"].iter().find_map(|name| at.si(name));
    let (mut values, mut units) = (Vec::new(), Vec::new());
    let mut each: Vec<Expanded> = Vec::new();
    let mut other = None;
    for real in at.all(Space::Si, "real") {
        if values.len() >= MAX_VALUES {
            return Err(real.fault(ReadFault::Limit {
                what: "values of a list",
                given: values.len() + 1,
                limit: MAX_VALUES,
            }));
        }
        values.extend(numbers(real.need(Space::Si, "value")?, budget)?.into_iter().take(1));
        match real.si("unit").or(common_unit) {
            Some(unit) => units.push(cut(unit.text())),
            None => return Err(real.fault(ReadFault::Missing { wanted: "unit" })),
        }
        let (expanded, kind) = uncertainty(real, &SINGLE, 1, budget)?;
        each.extend(expanded);
        other = other.or(kind);
    }
    if values.is_empty() {
        return Err(at.fault(ReadFault::Missing { wanted: "real" }));
    }
    let expanded = match (common, each.len()) {
        (Some(common), 0) => match common
            .si("expandedMU")
            .map(|e| (e, "valueExpandedMU"))
            .or(common.si("expandedUnc").map(|e| (e, "uncertainty")))
        {
            Some((expanded, value)) => Some(expansion(expanded, value, &SINGLE, values.len(), budget)?),
            None => None,
        },
        (_, 0) => None,
        (_, given) if given != values.len() => {
            return Err(at.fault(ReadFault::Length { given, values: values.len() }));
        }
        _ => join(each),
    };
    let unit_spot = common_unit.unwrap_or(at).spot();
    Ok(Values { spot: at.spot(), values, units, unit_spot, expanded, other_uncertainty: other })
}

/// Uncertainties of single values, one after the other.
pub(super) fn join(each: Vec<Expanded>) -> Option<Expanded> {
    let mut all = each.into_iter();
    let mut joined = all.next()?;
    for next in all {
        joined.values.extend(next.values);
        joined.k.extend(next.k);
        joined.probability.extend(next.probability);
    }
    Some(joined)
}

fn meta(at: At<'_>, budget: &mut Budget) -> Result<Vec<Meta>, ReadError> {
    let Some(list) = at.dcc("measurementMetaData") else { return Ok(Vec::new()) };
    let mut all = Vec::new();
    for data in list.all(Space::Dcc, "metaData") {
        let conformity = data.dcc("conformityXMLList").or(data.dcc("conformity"));
        let words = conformity.map_or("", At::text).split_ascii_whitespace();
        let mut columns = Vec::new();
        for quantity in data.dcc("data").into_iter().flat_map(|data| data.all(Space::Dcc, "quantity")) {
            // limits that cannot be read are no reason to refuse the result; a meta quantity in a meta
            // quantity is bounded by the depth of the tree
            columns.extend(column(quantity, budget)?);
        }
        let conformity: Vec<String> = words.take(MAX_VALUES).map(cut).collect();
        conformity.iter().try_for_each(|_| budget.take(data))?;
        all.push(Meta {
            terms: terms(data),
            declaration: data.dcc("declaration").map_or_else(Label::default, label),
            conformity,
            columns,
        });
    }
    Ok(all)
}
