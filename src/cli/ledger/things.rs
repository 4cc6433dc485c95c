//! `leverarm ledger customer`, `tool`: what the record knows of them.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use leverarm_ledger::event::{self, Event, Superseded};
use leverarm_ledger::text::{Id, Text};
use serde_json::json;

use super::desk::Desk;
use super::names;
use crate::cli::{Ending, Failure};
use crate::diagnose;
use crate::ingest::{self, Loaded};
use crate::office::belongs::tool_words;

/// Commands about customers.
#[derive(Debug, Subcommand)]
pub(super) enum Customer {
    /// Register a customer, or put what is known of him anew with --why
    Add(CustomerAdd),
    /// List the customers
    List,
}

/// Arguments of `customer add`.
#[derive(Debug, Args)]
pub(super) struct CustomerAdd {
    /// the laboratory's short name for him
    #[arg(value_parser = names::id)]
    id: Id,
    /// as certificates print it
    #[arg(long, value_parser = names::text)]
    name: Text,
    /// where letters go
    #[arg(long, value_parser = names::text)]
    address: Option<Text>,
    /// whom to speak to
    #[arg(long, value_parser = names::text)]
    contact: Option<Text>,
    /// why, where this takes the place of what was known before
    #[arg(long, value_parser = names::text)]
    why: Option<Text>,
}

pub(super) fn customer(desk: &mut Desk<'_, impl Write>, what: &Customer) -> Result<Ending, Failure> {
    let Customer::Add(add) = what else { return customers(desk) };
    let customer = event::Customer {
        id: add.id.clone(),
        name: add.name.clone(),
        address: add.address.clone(),
        contact: add.contact.clone(),
    };
    let said = format!("customer {}: {}", add.id, add.name);
    let event = match &add.why {
        Some(why) => Event::CustomerSuperseded(Superseded { now: customer, why: why.clone() }),
        None => Event::CustomerRegistered(customer),
    };
    desk.record(event, &[], &said, json!({ "customer": add.id }))
}

fn customers(desk: &mut Desk<'_, impl Write>) -> Result<Ending, Failure> {
    let ledger = desk.open()?;
    let customers = ledger.state().customers();
    if desk.json() {
        return desk.print(&customers.values().collect::<Vec<_>>());
    }
    let line = |text: &Option<Text>| text.as_ref().map(Text::to_string).unwrap_or_default();
    let rows = customers
        .values()
        .map(|c| vec![c.id.to_string(), c.name.to_string(), line(&c.address), line(&c.contact)])
        .collect();
    desk.table(&["customer", "name", "address", "contact"], rows)?;
    Ok(Ending::Done)
}

/// Commands about tools.
#[derive(Debug, Subcommand)]
pub(super) enum Tool {
    /// Register a tool, or put what is known of it anew with --why
    Add(Box<ToolAdd>),
    /// List the tools
    List,
}

/// Arguments of `tool add`.
#[derive(Debug, Args)]
pub(super) struct ToolAdd {
    /// the laboratory's name for it
    #[arg(value_parser = names::id)]
    id: Id,
    /// whose it is
    #[arg(long, value_parser = names::id)]
    customer: Id,
    /// take what run.toml of this run folder says of it
    #[arg(long, value_name = "RUN")]
    from: Option<PathBuf>,
    /// maker
    #[arg(long, value_parser = names::text, required_unless_present = "from")]
    maker: Option<Text>,
    /// model
    #[arg(long, value_parser = names::text, required_unless_present = "from")]
    model: Option<Text>,
    /// serial number
    #[arg(long, value_parser = names::text, required_unless_present = "from")]
    serial: Option<Text>,
    /// type and class, such as "II A"
    #[arg(long, value_parser = names::text, required_unless_present = "from")]
    kind: Option<Text>,
    /// range with its unit
    #[arg(long, value_parser = names::text)]
    range: Option<Text>,
    /// the maker's own tolerance, where it is tighter than the class
    #[arg(long, value_parser = names::text)]
    claim: Option<Text>,
    /// a head that it is used with; can be given again
    #[arg(long, value_parser = names::text)]
    head: Vec<Text>,
    /// after how many months it comes again, as agreed with the customer
    #[arg(long, value_name = "MONTHS")]
    interval_months: Option<u32>,
    /// why, where this takes the place of what was known before
    #[arg(long, value_parser = names::text)]
    why: Option<Text>,
}

pub(super) fn tool(desk: &mut Desk<'_, impl Write>, what: &Tool) -> Result<Ending, Failure> {
    let Tool::Add(add) = what else { return tools(desk) };
    let tool = add.tool()?;
    let said = format!("tool {}: {} {}, serial {}", add.id, tool.maker, tool.model, tool.serial);
    let event = match &add.why {
        Some(why) => Event::ToolSuperseded(Superseded { now: tool, why: why.clone() }),
        None => Event::ToolRegistered(tool),
    };
    desk.record(event, &[], &said, json!({ "tool": add.id }))
}

impl ToolAdd {
    /// What was given, and for the rest what the run says.
    fn tool(&self) -> Result<event::Tool, Failure> {
        let read = self.from.as_deref().map(run_in).transpose()?;
        let run = read.as_ref().and_then(|loaded| loaded.run.as_ref()).map(|run| &run.tool);
        let words = run.map(tool_words);
        let take = |given: &Option<Text>, found: Option<&str>, what: &str| match (given, found) {
            (Some(given), _) => Ok(given.clone()),
            (None, Some(found)) => recorded(found),
            (None, None) => Err(Failure::bad_input(format!("no {what}"), format!("give --{what}"))),
        };
        let some = |given: &Option<Text>, found: Option<&str>| match given {
            Some(given) => Ok(Some(given.clone())),
            None => found.map(recorded).transpose(),
        };
        let mut heads = self.head.clone();
        if heads.is_empty() {
            let found = words.iter().flat_map(|(_, _, _, heads)| heads);
            heads = found.map(|head| recorded(head)).collect::<Result<_, _>>()?;
        }
        Ok(event::Tool {
            id: self.id.clone(),
            customer: self.customer.clone(),
            maker: take(&self.maker, run.map(|tool| tool.maker.as_str()), "maker")?,
            model: take(&self.model, run.map(|tool| tool.model.as_str()), "model")?,
            serial: take(&self.serial, run.map(|tool| tool.serial.as_str()), "serial")?,
            kind: take(&self.kind, words.as_ref().map(|(class, ..)| class.as_str()), "kind")?,
            range: some(&self.range, words.as_ref().map(|(_, range, ..)| range.as_str()))?,
            claim: some(&self.claim, words.as_ref().and_then(|(_, _, claim, _)| claim.as_deref()))?,
            heads,
            interval_months: self.interval_months,
        })
    }
}

/// A text of a file, as the record takes it.
pub(super) fn recorded(text: &str) -> Result<Text, Failure> {
    names::text(text).map_err(|reason| Failure::bad_input(reason, "mend it in the run folder"))
}

/// What a run folder says; its run can be read, whatever else is wrong with it.
pub(super) fn run_in(folder: &Path) -> Result<Loaded, Failure> {
    let loaded = ingest::load(folder);
    if loaded.run.is_some() {
        return Ok(loaded);
    }
    eprintln!("{}", diagnose::text(&loaded.findings, &loaded.sources));
    let what = format!("the run in {} cannot be read", diagnose::harmless(&folder.display().to_string()));
    Err(Failure::bad_input(what, "mend what is said above"))
}

fn tools(desk: &mut Desk<'_, impl Write>) -> Result<Ending, Failure> {
    let ledger = desk.open()?;
    let state = ledger.state();
    if desk.json() {
        return desk.print(&state.tools().values().collect::<Vec<_>>());
    }
    let rows = state
        .tools()
        .values()
        .map(|tool| {
            let due = state.tool_due(tool).map(|due| due.to_string()).unwrap_or_default();
            let what = format!("{} {}", tool.maker, tool.model);
            vec![
                tool.id.to_string(),
                tool.customer.to_string(),
                what,
                tool.serial.to_string(),
                tool.kind.to_string(),
                due,
            ]
        })
        .collect();
    desk.table(&["tool", "customer", "what it is", "serial", "class", "due"], rows)?;
    Ok(Ending::Done)
}
