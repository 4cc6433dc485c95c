//! `run.toml`: what was measured, where, by whom and for whom.

use chrono::NaiveDate;
use leverarm_metrology::decision::{DecisionRule, Sides};
use leverarm_metrology::low_pass::SignalChain;
use leverarm_metrology::reading::Reading;
use leverarm_metrology::run::{
    Agreement, CertificateTerms, Condition, Customer, Environment, Laboratory, People, Run, StatedPrior,
};
use leverarm_metrology::study::TypeStudy;
use leverarm_metrology::tool::Tool;

use super::bench;
use super::checks;
use super::laboratory;
use super::page::Sink;
use super::prior::prior;
use super::readings::DecimalSign;
use super::table::Table;
use super::tool::{self, ToolDraft};
use super::value::{Fault, humidity, temperature};
use super::words::one_of;

/// `[run]`
#[derive(Debug, Default)]
struct Job {
    job: Option<String>,
    condition: Option<Condition>,
    performed: Option<NaiveDate>,
    received: Option<NaiveDate>,
    place: Option<String>,
    rulebook: Option<String>,
    agreement: Option<Agreement>,
    sides: Sides,
}

/// Everything that `run.toml` says; what could not be read is absent.
#[derive(Debug, Default)]
pub(super) struct RunDraft {
    job: Job,
    pub(super) tool: ToolDraft,
    customer: Customer,
    pub(super) laboratory: Laboratory,
    pub(super) country: Option<String>,
    people: People,
    environment: Environment,
    prior: Option<StatedPrior>,
    terms: CertificateTerms,
    pub(super) reference_file: Option<String>,
    pub(super) laboratory_file: Option<String>,
    pub(super) study_file: Option<String>,
    pub(super) readings_file: Option<String>,
    pub(super) decimal: Option<DecimalSign>,
    chain: Option<SignalChain>,
    pub(super) journal_file: Option<String>,
}

impl RunDraft {
    /// Reads the whole of `run.toml`.
    pub(super) fn read(root: &Table<'_, '_>, sink: &mut Sink) -> RunDraft {
        format_version(root, sink);
        root.only(sink);
        let mut draft = RunDraft::default();
        if let Some(table) = need_table(root, sink, "run", "the job, its date and its rulebook") {
            draft.job = job(&table, sink);
        }
        if let Some(table) = need_table(root, sink, "tool", "the tool under test") {
            draft.tool = tool::read(&table, sink);
        }
        if let Some(table) = need_table(root, sink, "reference", "the reference file") {
            table.only(sink);
            draft.reference_file = table
                .need_text(sink, "file", "the path of the reference file, relative to this folder")
                .map(str::to_owned);
        }
        draft.optional(root, sink);
        draft
    }

    fn optional(&mut self, root: &Table<'_, '_>, sink: &mut Sink) {
        if let Some(table) = root.table(sink, "laboratory") {
            table.only(sink);
            self.laboratory_file = table.string(sink, "file");
            self.laboratory = laboratory::fields(&table, sink);
            self.country = laboratory::country(&table, sink);
            said_in_file_too(&table, sink, self.laboratory_file.is_some(), root.has("customer"));
        }
        if let Some(table) = root.table(sink, "customer") {
            table.only(sink);
            self.customer = Customer {
                name: table.string(sink, "name"),
                address: table.string(sink, "address"),
                order: table.string(sink, "order"),
            };
        }
        if let Some(table) = root.table(sink, "people") {
            table.only(sink);
            self.people = People {
                technician: table.string(sink, "technician"),
                approver: table.string(sink, "approver"),
            };
        }
        if let Some(table) = root.table(sink, "environment") {
            self.environment = environment(&table, sink);
        }
        if let Some(table) = root.table(sink, "prior") {
            self.prior = prior(&table, sink);
        }
        if let Some(table) = root.table(sink, "study") {
            table.only(sink);
            self.study_file = table
                .need_text(sink, "file", "the path of the study, relative to this folder")
                .map(str::to_owned);
        }
        if let Some(table) = root.table(sink, "readings") {
            table.only(sink);
            self.readings_file = table.string(sink, "file");
            self.decimal = table.value(sink, "decimal", "comma", |text| {
                one_of(text, &checks::VALUE_UNKNOWN, &["comma", "point"], DecimalSign::parse)
            });
        }
        if let Some(table) = root.table(sink, "bench") {
            (self.chain, self.journal_file) = bench::read(&table, sink);
        }
        if let Some(table) = root.table(sink, "certificate") {
            self.terms = terms(&table, sink);
        }
    }

    /// The rulebook's name or path, as asked.
    pub(super) fn rulebook(&self) -> Option<&str> {
        self.job.rulebook.as_deref()
    }

    /// The run, where everything is there without which there is none.
    pub(super) fn finish(
        self,
        laboratory: Laboratory,
        study: Option<TypeStudy>,
        readings: Vec<Reading>,
    ) -> Option<Run> {
        let job = self.job;
        let tool: Tool = self.tool.finish()?;
        Some(Run {
            job: job.job?,
            condition: job.condition?,
            performed: job.performed?,
            received: job.received,
            place: job.place,
            rulebook: job.rulebook?,
            agreement: job.agreement,
            sides: job.sides,
            prior: self.prior,
            tool,
            customer: self.customer,
            laboratory,
            people: self.people,
            environment: self.environment,
            terms: self.terms,
            chain: self.chain,
            study,
            readings,
        })
    }
}

fn format_version(root: &Table<'_, '_>, sink: &mut Sink) {
    let remedy = "write `format = 1` as the first line";
    if !root.has("format") {
        sink.missing("format", "1", remedy);
        return;
    }
    let Some(found) = root.count(sink, "format") else { return };
    if let (true, Some(entry)) = (found != 1, root.entry("format")) {
        let message = format!("this is format {found}; this version of leverarm reads format 1");
        let fault = Fault::new(&checks::FORMAT_VERSION, message, "1", remedy);
        sink.fault("format", &entry.span, &found.to_string(), fault);
    }
}

fn need_table<'a, 't>(
    root: &Table<'a, 't>,
    sink: &mut Sink,
    key: &str,
    wanted: &str,
) -> Option<Table<'a, 't>> {
    if !root.has(key) {
        sink.missing(key, wanted, &format!("add a table [{key}]"));
    }
    root.table(sink, key)
}

fn job(table: &Table<'_, '_>, sink: &mut Sink) -> Job {
    table.only(sink);
    let agreed = table.date(sink, "decision_agreed");
    let rule = table.value(sink, "decision", "guarded", |text| {
        one_of(text, &checks::VALUE_UNKNOWN, &DecisionRule::EXAMPLES, DecisionRule::parse)
    });
    Job {
        job: table.need_text(sink, "job", "the laboratory's own number for the job").map(str::to_owned),
        condition: table.need(sink, "condition", "as found", |text| {
            one_of(text, &checks::VALUE_UNKNOWN, &["as found", "as left", "new"], Condition::parse)
        }),
        performed: table.need_date(sink, "performed"),
        received: table.date(sink, "received"),
        place: table.string(sink, "place"),
        rulebook: table
            .need_text(sink, "rulebook", "the name of a built-in rulebook or the path of one")
            .map(str::to_owned),
        sides: table
            .value(sink, "limits", "both", |text| {
                one_of(text, &checks::VALUE_UNKNOWN, &Sides::ALL.map(Sides::word), Sides::parse)
            })
            .unwrap_or_default(),
        agreement: rule.map(|rule| Agreement { rule, agreed }),
    }
}

fn environment(table: &Table<'_, '_>, sink: &mut Sink) -> Environment {
    table.only(sink);
    Environment {
        temperature_start: table.value(sink, "temperature_start", "21.3 °C", temperature),
        temperature_end: table.value(sink, "temperature_end", "21.3 °C", temperature),
        humidity_start: table.value(sink, "humidity_start", "45 %", humidity),
        humidity_end: table.value(sink, "humidity_end", "45 %", humidity),
    }
}

fn terms(table: &Table<'_, '_>, sink: &mut Sink) -> CertificateTerms {
    table.only(sink);
    CertificateTerms {
        number: table.string(sink, "number"),
        replaces: table.string(sink, "replaces"),
        change: table.string(sink, "change"),
        interval: table.string(sink, "interval"),
        method_deviations: table.texts(sink, "method_deviations"),
        adjustment: table.string(sink, "adjustment"),
        remarks: table.texts(sink, "remarks"),
    }
}

fn said_in_file_too(table: &Table<'_, '_>, sink: &mut Sink, file: bool, customer: bool) {
    let Some(entry) = ["name", "address", "contact", "country"].iter().find_map(|key| table.entry(key))
    else {
        return;
    };
    if file {
        let remedy = if customer {
            "remove `file`, or remove `name`, `address` and `contact` here"
        } else {
            "where these lines describe the customer, write their lost header [customer] above them; else remove them, or remove `file`"
        };
        let fault = Fault::new(
            &checks::SAID_TWICE,
            "the laboratory is described here and in a file of its own",
            "either a file or its fields",
            remedy,
        );
        sink.fault(&entry.path, &entry.span, "both", fault);
    }
}
