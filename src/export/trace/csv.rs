//! Every sample of a trace, with every digit that a double holds.

use std::io::{self, Write};

use leverarm_pull::trace::Trace;

/// Writes `time_s,value,unit`, one line a sample. Times are on the trace's own clock; the numbers have
/// the fewest digits that bring them back bit for bit.
///
/// # Errors
/// What the writer says.
pub fn write(trace: &Trace, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "time_s,value,unit")?;
    let unit = trace.unit().symbol();
    for (index, value) in trace.values().iter().enumerate() {
        let Some(time_s) = trace.time_s(index) else { break };
        writeln!(out, "{time_s},{value},{unit}")?;
    }
    Ok(())
}
