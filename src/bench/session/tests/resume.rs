//! Cut off anywhere, a session goes on as if nothing had been.

use std::sync::OnceLock;

use leverarm_metrology::reading::Direction;
use leverarm_metrology::tool::ToolClass;
use leverarm_session::journal;
use leverarm_session::{Entry, Indicated, Plan, Record, ResumeError, Session};
use proptest::prelude::*;

use crate::bench::{Bench, Hand, click_plan, plan_of, short, tool};

fn plan() -> Plan {
    short(plan_of(tool(ToolClass::IC, &[Direction::Clockwise]), "iso-6789-1", Indicated::Typed))
}

/// A session with everything in it.
fn eventful() -> &'static Vec<Entry> {
    static ENTRIES: OnceLock<Vec<Entry>> = OnceLock::new();
    ENTRIES.get_or_init(|| {
        let mut bench = Bench::at_points(plan());
        bench.pull(Hand { loading_s: 0.2, ..Hand::show(40.0, 40.2) });
        bench.pull(Hand::show(40.0, 5.0));
        bench.pull(Hand::show(40.0, 40.2));
        bench.type_line("40");
        bench.press('x');
        bench.press('1');
        bench.press('p');
        bench.press('p');
        bench.press('t');
        bench.type_line("Eskil Marnburg");
        bench.work();
        bench.entries
    })
}

fn folded(entries: &[Entry]) -> Record {
    let mut record = Record::default();
    entries.iter().for_each(|entry| record.apply(&plan(), entry).unwrap());
    record
}

/// What of the record does not hang on the clock.
type Essence = (u32, usize, Option<String>, String, Option<String>);

fn essence(record: &Record) -> Vec<Essence> {
    let digits = |kept: &leverarm_session::record::Kept| {
        let shown = kept.indicated.map(|i| i.to_string());
        // two rests before a pull differ in their noise, and so may the last digit
        let reference = format!("{:.1}", kept.reference.value());
        (kept.number, kept.step, shown, reference, kept.void.clone())
    };
    record.readings.iter().map(digits).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn from_any_prefix_the_record_is_the_same_and_the_work_can_be_ended(cut in 1_usize..200) {
        let all = eventful();
        let cut = 1 + cut % all.len();
        let mut bench = Bench::resume(plan(), &all[..cut], 5000.0);
        let record = folded(&all[..cut]);
        prop_assert_eq!(bench.session.record(), &record);
        if record.pause().is_some() {
            bench.press('p');
        }
        bench.work();
        prop_assert!(bench.is_finished);
        // what was there before stays as it was, and the valid readings are those of the plan
        let before = essence(&record);
        let after = essence(bench.session.record());
        for (was, is) in before.iter().zip(&after) {
            prop_assert_eq!((was.0, was.1, &was.3, &was.4), (is.0, is.1, &is.3, &is.4));
        }
        let count = |record: &Record| -> Vec<usize> {
            (0..plan().steps.len()).map(|step| record.valid(step).count()).collect()
        };
        prop_assert_eq!(count(bench.session.record()), count(&folded(all)));
    }

    /// The same work, cut off after any number of inputs: what the screen said is on disk, and the end
    /// is the same.
    #[test]
    fn a_kill_at_any_moment_loses_nothing_that_was_said(kill in 0_u64..40_000) {
        let plan = short(click_plan());
        let mut whole = Bench::begin(plan.clone());
        whole.work();
        let kill = kill % whole.calls;
        let mut bench = Bench::begin(plan.clone());
        while bench.calls < kill && bench.step() {}
        let said: Vec<String> = bench.view().said.into_iter().map(|said| said.text).collect();
        let (entries, clock_s) = (bench.entries.clone(), bench.clock_s());
        drop(bench);
        let on_disk = { let mut record = Record::default();
            entries.iter().for_each(|entry| record.apply(&plan, entry).unwrap()); record };
        for text in said.iter().filter(|text| text.starts_with("Reading ")) {
            let number: u32 = text[8..].split([':', ' ']).next().unwrap().parse().unwrap();
            prop_assert!(on_disk.readings.iter().any(|kept| kept.number == number), "{}", text);
        }
        let mut bench = Bench::resume(plan, &entries, clock_s + 60.0);
        bench.work();
        prop_assert_eq!(essence(bench.session.record()), essence(whole.session.record()));
    }
}

#[test]
fn the_uninterrupted_record_is_the_folded_one() {
    let mut bench = Bench::begin(plan());
    bench.work();
    assert_eq!(bench.session.record(), &folded(&bench.entries));
    let decoded = journal::decode(&bench.bytes).unwrap();
    assert_eq!(decoded.entries, bench.entries);
    assert!(!decoded.torn);
    let again = Bench::resume(plan(), &decoded.entries, 9000.0);
    assert!(again.is_finished, "a finished session asks for its run folder again");
    assert_eq!(again.session.outcome(), bench.session.outcome());
}

#[test]
fn other_inputs_are_not_gone_on_with() {
    let entries = eventful();
    let refused = |change: &dyn Fn(&mut Plan)| {
        let mut other = plan();
        change(&mut other);
        let error = Session::resume(other, entries).unwrap_err();
        assert!(!error.remedy().is_empty());
        error.to_string()
    };
    assert!(refused(&|p| p.inputs[0].sha256 = "11".repeat(32)).contains("run.toml"));
    assert!(refused(&|p| p.inputs.clear()).contains("run.toml"));
    assert!(
        refused(&|p| p.job = "SK-2026-0413".into()).contains("job SK-2026-0412, and now it is SK-2026-0413")
    );
    assert!(refused(&|p| p.tool.serial = "2".into()).contains("tool"));
    assert!(refused(&|p| p.instrument.sample_rate_hz = 1000.0).contains("sample rate 500 Hz"));
    assert!(refused(&|p| p.indicated = Indicated::Stored).contains("tool's value typed"));
    assert!(matches!(Session::resume(plan(), &[]), Err(ResumeError::Empty)));
}

#[test]
fn entries_that_contradict_each_other_are_refused() {
    let all = eventful();
    for (name, spoil) in [
        (
            "left out",
            Box::new(|e: &mut Vec<Entry>| {
                e.remove(3);
            }) as Box<dyn Fn(&mut Vec<Entry>)>,
        ),
        (
            "twice",
            Box::new(|e| {
                let copy = e[4].clone();
                e.insert(4, copy);
            }),
        ),
        ("exchanged", Box::new(|e| e.swap(5, 6))),
        (
            "not begun",
            Box::new(|e| {
                e.remove(0);
            }),
        ),
        (
            "backward",
            Box::new(|e| {
                let early = e[0].time - chrono::TimeDelta::seconds(1);
                e[5].time = early;
            }),
        ),
    ] {
        let mut entries = all.clone();
        spoil(&mut entries);
        assert!(Session::resume(plan(), &entries).is_err(), "{name}");
    }
}

/// The clock of the computer may be set back: the record still runs forward.
#[test]
fn a_clock_that_is_set_back_does_not_turn_the_record() {
    let mut bench = Bench::at_points(short(click_plan()));
    bench.pull(Hand::click(40.0, 40.1));
    bench.wait(-3600.0);
    bench.work();
    assert!(bench.entries.windows(2).all(|pair| pair[0].time <= pair[1].time));
}
