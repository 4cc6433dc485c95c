//! `[bench]`: with what the readings were captured.

use leverarm_metrology::low_pass::{LowPass, Order, SignalChain};

use super::checks;
use super::page::Sink;
use super::table::Table;
use super::value::{Fault, frequency};
use super::words::one_of;

/// Reads `[bench]`: the chain, where enough is said of it, and the file of the journal.
pub(super) fn read(table: &Table<'_, '_>, sink: &mut Sink) -> (Option<SignalChain>, Option<String>) {
    table.only(sink);
    let instrument = table.need_text(sink, "instrument", "the name of the instrument").map(str::to_owned);
    let rate = table.need(sink, "rate", "100 Hz", frequency);
    let is_filtered = table
        .value(sink, "filter", "butterworth", |text| {
            one_of(text, &checks::VALUE_UNKNOWN, &["butterworth"], |word| {
                word.trim().eq_ignore_ascii_case("butterworth").then_some(())
            })
        })
        .is_some();
    let order = order(table, sink);
    let cut_off = table.value(sink, "cut_off", "50 Hz", frequency);
    // One of the three without the others says nothing of the error of the filter.
    let says_some = ["filter", "order", "cut_off"].iter().any(|key| table.has(key));
    if says_some {
        for (key, example) in [("filter", "\"butterworth\""), ("order", "2"), ("cut_off", "\"50 Hz\"")] {
            if !table.has(key) {
                sink.missing(
                    &table.path(key),
                    "filter, order and cut-off of the low-pass",
                    &format!("add `{key} = {example}`, or remove the keys of the filter where there is none"),
                );
            }
        }
    }
    let filter = order.zip(cut_off).filter(|_| is_filtered);
    let filter = filter.map(|(order, cut_off)| LowPass { order, cut_off });
    let journal = table.string(sink, "journal");
    let chain = instrument.zip(rate).map(|(instrument, rate)| SignalChain {
        instrument,
        rate,
        filter,
        journal: journal.clone(),
    });
    (chain, journal)
}

fn order(table: &Table<'_, '_>, sink: &mut Sink) -> Option<Order> {
    let number = table.count(sink, "order")?;
    let order = Order::of(number);
    if let (None, Some(entry)) = (order, table.entry("order")) {
        let message = format!("the order {number} is none that leverarm knows the error of");
        let fault = Fault::new(&checks::VALUE_UNKNOWN, message, "2 or 4", "write `order = 2` or `order = 4`");
        sink.fault(&entry.path, &entry.span, &number.to_string(), fault);
    }
    order
}
