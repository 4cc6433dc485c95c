//! Rules for the way of a job.

use super::{Asking, check_files, must_be_known, must_be_new};
use crate::event::{
    Amended, Authority, CertificateNumber, Evaluated, Event, Issued, JobReceived, RunAdded, Withdrawn,
};
use crate::refusal::{Kind, Refusal};
use crate::state::{Certificate, CertificateState, Job, JobState};
use crate::text::Id;

const BENCH: &[Authority] = &[Authority::Technician, Authority::Approver];

pub(super) fn permit(asking: &Asking<'_>, event: &Event) -> Result<(), Refusal> {
    match event {
        Event::JobReceived(received) => receive(asking, received),
        Event::RunAdded(run) => add_run(asking, run),
        Event::Evaluated(evaluated) => evaluate(asking, evaluated),
        Event::Submitted(event) => {
            let job = job(asking, &event.job)?;
            asking.must_be(&[Authority::Technician], Some(&job.received.rulebook))?;
            in_state(job, &[JobState::Evaluated, JobState::Returned])?;
            match job.runs.iter().find(|record| record.evaluations.is_empty()) {
                Some(record) => {
                    let (job, run) = (event.job.clone(), record.run.run.clone());
                    Err(Refusal::NotEvaluated { job, run })
                }
                None => Ok(()),
            }
        }
        Event::Returned(event) => {
            let job = answer(asking, Authority::Approver, &event.job)?;
            in_state(job, &[JobState::Submitted, JobState::Approved])
        }
        Event::Approved(event) => {
            let job = answer(asking, Authority::Approver, &event.job)?;
            in_state(job, &[JobState::Submitted])
        }
        Event::Issued(issued) => issue(asking, issued),
        Event::Amended(amended) => amend(asking, amended),
        Event::Withdrawn(withdrawn) => withdraw(asking, withdrawn),
        Event::JobClosed(event) => {
            let job = job(asking, &event.job)?;
            asking.must_be(&[Authority::Approver], Some(&job.received.rulebook))?;
            in_state(
                job,
                &[
                    JobState::Received,
                    JobState::Measured,
                    JobState::Evaluated,
                    JobState::Submitted,
                    JobState::Returned,
                    JobState::Approved,
                ],
            )
        }
        _ => Ok(()),
    }
}

fn job<'a>(asking: &Asking<'a>, id: &Id) -> Result<&'a Job, Refusal> {
    let unknown = || Refusal::Unknown { kind: Kind::Job, id: id.to_string() };
    asking.state.jobs.get(id).ok_or_else(unknown)
}

fn in_state(job: &Job, wanted: &'static [JobState]) -> Result<(), Refusal> {
    if wanted.contains(&job.state) {
        return Ok(());
    }
    Err(Refusal::WrongState { job: job.received.job.clone(), state: job.state, wanted })
}

/// Someone answers for a job: authorised for its rulebook today, and not the one who measured
/// (ISO/IEC 17025:2017, 7.7.1 and 7.8.2.1 o leave the separation to the laboratory; here it holds).
fn answer<'a>(asking: &Asking<'a>, authority: Authority, id: &Id) -> Result<&'a Job, Refusal> {
    let job = job(asking, id)?;
    asking.must_be(&[authority], Some(&job.received.rulebook))?;
    if job.was_measured_by(asking.author) {
        return Err(Refusal::MeasuredIt { author: asking.author.clone(), job: id.clone() });
    }
    Ok(job)
}

fn receive(asking: &Asking<'_>, received: &JobReceived) -> Result<(), Refusal> {
    let state = asking.state;
    asking.must_be(BENCH, None)?;
    must_be_new(Kind::Job, &received.job, state.jobs.contains_key(&received.job))?;
    must_be_known(Kind::Customer, &received.customer, state.customers.contains_key(&received.customer))?;
    let Some(tool) = state.tools.get(&received.tool) else {
        return Err(Refusal::Unknown { kind: Kind::Tool, id: received.tool.to_string() });
    };
    if tool.customer != received.customer {
        let (tool, owner) = (received.tool.clone(), tool.customer.clone());
        return Err(Refusal::OtherCustomer { tool, owner });
    }
    asking.not_in_future("the day of receipt", received.received)?;
    check_files(&received.photos, true)
}

fn add_run(asking: &Asking<'_>, run: &RunAdded) -> Result<(), Refusal> {
    let job = job(asking, &run.job)?;
    if run.technician != *asking.author {
        let (author, technician) = (asking.author.clone(), run.technician.clone());
        return Err(Refusal::TechnicianIsAnother { author, technician });
    }
    asking.not_in_future("the day of the work", run.performed)?;
    asking.not_after("the day of receipt", job.received.received, run.performed)?;
    let rulebook = Some(&job.received.rulebook);
    asking.must_be(&[Authority::Technician], rulebook)?;
    asking.must_have_been(&[Authority::Technician], rulebook, run.performed)?;
    in_state(job, &[JobState::Received, JobState::Measured, JobState::Evaluated, JobState::Returned])?;
    must_be_new(Kind::Run, &run.run, job.run(&run.run).is_some())?;
    let Some(record) = asking.state.references.get(&run.reference) else {
        return Err(Refusal::Unknown { kind: Kind::Reference, id: run.reference.to_string() });
    };
    let calibration = record.calibrations.iter().find(|known| known.certificate == run.certificate);
    let Some(calibration) = calibration else {
        return Err(Refusal::Unknown { kind: Kind::Calibration, id: run.certificate.to_string() });
    };
    if run.performed < calibration.date || run.performed > calibration.due {
        return Err(Refusal::OutsideCalibration {
            reference: run.reference.clone(),
            certificate: run.certificate.clone(),
            from: calibration.date,
            to: calibration.due,
            day: run.performed,
        });
    }
    check_files(&run.files, false)
}

fn evaluate(asking: &Asking<'_>, evaluated: &Evaluated) -> Result<(), Refusal> {
    let job = job(asking, &evaluated.job)?;
    asking.must_be(BENCH, Some(&job.received.rulebook))?;
    in_state(job, &[JobState::Measured, JobState::Evaluated, JobState::Returned, JobState::Issued])?;
    must_be_known(Kind::Run, &evaluated.run, job.run(&evaluated.run).is_some())
}

fn next_of_series(asking: &Asking<'_>, given: &CertificateNumber) -> Result<(), Refusal> {
    let wanted = asking.state.next_number(&given.series).number;
    if given.number == wanted {
        return Ok(());
    }
    Err(Refusal::WrongNumber { series: given.series.clone(), given: given.number, wanted })
}

fn issue(asking: &Asking<'_>, issued: &Issued) -> Result<(), Refusal> {
    let job = answer(asking, Authority::Approver, &issued.job)?;
    in_state(job, &[JobState::Approved])?;
    next_of_series(asking, &issued.certificate)?;
    check_files(&issued.files, false)
}

/// The certificate that is amended or withdrawn: it must hold.
fn current<'a>(asking: &Asking<'a>, number: &CertificateNumber) -> Result<&'a Certificate, Refusal> {
    let certificate = asking.state.certificates.get(number);
    let certificate =
        certificate.ok_or_else(|| Refusal::UnknownCertificate { certificate: number.clone() })?;
    match certificate.state {
        CertificateState::Current => Ok(certificate),
        CertificateState::ReplacedBy(_) | CertificateState::Withdrawn(_) => {
            let how = certificate.state.as_str();
            Err(Refusal::NotCurrent { certificate: number.clone(), how })
        }
    }
}

fn amend(asking: &Asking<'_>, amended: &Amended) -> Result<(), Refusal> {
    let certificate = current(asking, &amended.replaces)?;
    answer(asking, Authority::Amender, &certificate.job)?;
    next_of_series(asking, &amended.certificate)?;
    check_files(&amended.files, false)
}

fn withdraw(asking: &Asking<'_>, withdrawn: &Withdrawn) -> Result<(), Refusal> {
    let certificate = current(asking, &withdrawn.certificate)?;
    let job = job(asking, &certificate.job)?;
    asking.must_be(&[Authority::Amender], Some(&job.received.rulebook))
}
