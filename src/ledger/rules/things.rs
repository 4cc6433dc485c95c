//! Rules for customers, tools, references and check standards.

use super::{Asking, check_files, must_be_known, must_be_new};
use crate::event::{
    Authority, CheckStandardMeasured, Event, LettersWritten, ReferenceCalibrated, ReferenceFoundWrong, Tool,
};
use crate::refusal::{Kind, Refusal};
use crate::text::Id;

const BENCH: &[Authority] = &[Authority::Technician, Authority::Approver];
const KEEPER: &[Authority] = &[Authority::Approver];
const ANSWERING: &[Authority] = &[Authority::Approver, Authority::Amender];

pub(super) fn permit(asking: &Asking<'_>, event: &Event) -> Result<(), Refusal> {
    let state = asking.state;
    match event {
        Event::CustomerRegistered(customer) => {
            asking.must_be(BENCH, None)?;
            must_be_new(Kind::Customer, &customer.id, state.customers.contains_key(&customer.id))
        }
        Event::CustomerSuperseded(superseded) => {
            asking.must_be(BENCH, None)?;
            customer(asking, &superseded.now.id)
        }
        Event::ToolRegistered(tool) => {
            asking.must_be(BENCH, None)?;
            must_be_new(Kind::Tool, &tool.id, state.tools.contains_key(&tool.id))?;
            check_tool(asking, tool)
        }
        Event::ToolSuperseded(superseded) => {
            asking.must_be(BENCH, None)?;
            must_be_known(Kind::Tool, &superseded.now.id, state.tools.contains_key(&superseded.now.id))?;
            check_tool(asking, &superseded.now)
        }
        Event::ReferenceRegistered(reference) => {
            asking.must_be(KEEPER, None)?;
            must_be_new(Kind::Reference, &reference.id, state.references.contains_key(&reference.id))
        }
        Event::ReferenceSuperseded(superseded) => {
            asking.must_be(KEEPER, None)?;
            reference(asking, &superseded.now.id)
        }
        Event::ReferenceCalibrated(calibrated) => calibrate(asking, calibrated),
        Event::CheckStandardRegistered(standard) => {
            asking.must_be(KEEPER, None)?;
            must_be_new(Kind::CheckStandard, &standard.id, state.standards.contains_key(&standard.id))
        }
        Event::CheckStandardMeasured(measured) => measure(asking, measured),
        Event::ReferenceFoundWrong(found) => find_wrong(asking, found),
        Event::LettersWritten(letters) => write_letters(asking, letters),
        _ => Ok(()),
    }
}

fn customer(asking: &Asking<'_>, id: &Id) -> Result<(), Refusal> {
    must_be_known(Kind::Customer, id, asking.state.customers.contains_key(id))
}

fn reference(asking: &Asking<'_>, id: &Id) -> Result<(), Refusal> {
    must_be_known(Kind::Reference, id, asking.state.references.contains_key(id))
}

fn check_tool(asking: &Asking<'_>, tool: &Tool) -> Result<(), Refusal> {
    customer(asking, &tool.customer)?;
    let serial = (tool.maker.clone(), tool.model.clone(), tool.serial.clone());
    match asking.state.serials.get(&serial) {
        Some(other) if *other != tool.id => Err(Refusal::SameTool { tool: other.clone() }),
        _ => Ok(()),
    }
}

fn calibrate(asking: &Asking<'_>, calibrated: &ReferenceCalibrated) -> Result<(), Refusal> {
    asking.must_be(KEEPER, None)?;
    reference(asking, &calibrated.reference)?;
    let known = asking.state.references.get(&calibrated.reference);
    let is_known = known.is_some_and(|record| {
        record.calibrations.iter().any(|before| before.certificate == calibrated.certificate)
    });
    must_be_new(Kind::Calibration, &calibrated.certificate, is_known)?;
    asking.not_in_future("the day of the calibration", calibrated.date)?;
    asking.not_after("the day of the calibration", calibrated.date, calibrated.due)?;
    check_files(&calibrated.files, false)
}

fn measure(asking: &Asking<'_>, measured: &CheckStandardMeasured) -> Result<(), Refusal> {
    asking.must_be(BENCH, None)?;
    let is_known = asking.state.standards.contains_key(&measured.standard);
    must_be_known(Kind::CheckStandard, &measured.standard, is_known)?;
    reference(asking, &measured.reference)?;
    asking.not_in_future("the day of the work", measured.performed)?;
    check_files(&measured.files, true)
}

fn find_wrong(asking: &Asking<'_>, found: &ReferenceFoundWrong) -> Result<(), Refusal> {
    asking.must_be(ANSWERING, None)?;
    reference(asking, &found.reference)?;
    must_be_new(Kind::Exposure, &found.exposure, asking.state.exposures.contains_key(&found.exposure))?;
    asking.not_in_future("the day since when it may be wrong", found.since)?;
    check_files(&found.files, false)
}

fn write_letters(asking: &Asking<'_>, letters: &LettersWritten) -> Result<(), Refusal> {
    asking.must_be(ANSWERING, None)?;
    let is_known = asking.state.exposures.contains_key(&letters.exposure);
    must_be_known(Kind::Exposure, &letters.exposure, is_known)?;
    letters.letters.iter().try_for_each(|letter| customer(asking, &letter.customer))?;
    let files: Vec<_> = letters.letters.iter().map(|letter| letter.file.clone()).collect();
    check_files(&files, false)
}
