//! The pages: set anew from what was computed, and compared with those of the file.

use leverarm_seal::pdf::{Document, Inspection};

use super::parts::Parts;
use super::rebuild::Rebuilt;
use super::report::{Difference, Outcome, Report};
use super::text::{Page, page};
use super::{Question, RecheckError, leaves, update};
use crate::certificate::render::Attachment;

const PART: &str = "pages";
/// Differences that are told of one page.
const DIFFERENCES_MAX: usize = 12;

pub(super) fn compare(
    pdf: &[u8],
    inspection: &Inspection,
    parts: &Parts<'_>,
    rebuilt: &Rebuilt,
    question: &Question<'_>,
    report: &mut Report,
) -> Result<(), RecheckError> {
    let mut attached: Vec<Attachment> = parts
        .files
        .iter()
        .map(|file| Attachment {
            name: file.name.clone(),
            mime: file.media_type.clone().unwrap_or_default(),
            description: file.description.clone().unwrap_or_default(),
            data: file.bytes.clone(),
        })
        .collect();
    attached.sort_by(|a, b| a.name.cmp(&b.name));
    let view = &rebuilt.made.view;
    let ours = match question.renderer.render_with(view, rebuilt.decided.paper, &attached) {
        Ok(ours) => ours,
        // A name or media type in the file that no certificate of ours has.
        Err(error) => {
            report.say(PART, Outcome::Differs, format!("they cannot be set anew: {error}"));
            return Ok(());
        }
    };
    let count = inspection.pages;
    let same = match inspection.signatures.is_empty() {
        true => pdf == ours,
        false => pdf.starts_with(&ours),
    };
    let seen = match same && !inspection.signatures.is_empty() {
        true => update::compare(pdf, &ours)?,
        false => Vec::new(),
    };
    let whole = seen.is_empty();
    if same && !inspection.signatures.is_empty() {
        report.compare("update", "the signature added nothing that is seen".to_owned(), seen);
    }
    // Behind the pages set anew something may stand that shows others: then they are read.
    if same && whole {
        let words = format!("{count} pages set anew are the same, byte for byte");
        report.say(PART, Outcome::Agrees, words);
        return Ok(());
    }
    let differences = of_text(pdf, &ours, &rebuilt.made.result)?;
    let other = parts.issue.program != env!("CARGO_PKG_VERSION") && whole;
    if !differences.is_empty() {
        report.compare(PART, String::new(), differences);
    } else if other {
        let words = format!(
            "the text of {count} pages agrees; they were set by leverarm {}, this is {}, so that lines and \
             shapes were not compared",
            parts.issue.program,
            env!("CARGO_PKG_VERSION")
        );
        report.say(PART, Outcome::Agrees, words);
    } else {
        let at = pdf.iter().zip(&ours).take_while(|(a, b)| a == b).count();
        let found = format!("other bytes from byte {at} on");
        let difference =
            Difference::new("file", "the bytes of the pages set anew, with the same text", &found);
        report.compare(PART, String::new(), vec![difference]);
    }
    Ok(())
}

/// The text page by page, each difference with the number that it is of.
fn of_text(pdf: &[u8], ours: &[u8], result: &[u8]) -> Result<Vec<Difference>, RecheckError> {
    let (theirs, ours) = (Document::open(pdf)?, Document::open(ours)?);
    let (their_pages, our_pages) = (theirs.pages()?, ours.pages()?);
    let mut differences = Vec::new();
    if their_pages.len() != our_pages.len() {
        let (a, b) = (our_pages.len().to_string(), their_pages.len().to_string());
        differences.push(Difference::new("number of pages", &a, &b));
    }
    for key in ["OCProperties", "OpenAction", "AA"] {
        let (_, catalog) = theirs.catalog()?;
        if catalog.get(key).is_some() {
            differences.push(Difference::new(format!("/{key} of the file"), "nothing", "layers or actions"));
        }
    }
    let paths = leaves::texts(result);
    for (place, (our_page, their_page)) in our_pages.iter().zip(&their_pages).enumerate() {
        let number = place + 1;
        let (Ok(our_page), their_page) = (page(&ours, *our_page), page(&theirs, *their_page)) else {
            differences.push(Difference::new("page", "a page that can be read", "none").on(number));
            continue;
        };
        match their_page {
            Ok(their_page) => of_page(number, &our_page, &their_page, &paths, &mut differences),
            Err(error) => {
                let found = error.to_string();
                differences.push(Difference::new("page", "a page that can be read", &found).on(number));
            }
        }
    }
    Ok(differences)
}

fn of_page(
    number: usize,
    ours: &Page,
    theirs: &Page,
    paths: &[(String, String)],
    differences: &mut Vec<Difference>,
) {
    let (a, b) = middle(&ours.pieces, &theirs.pieces);
    if a.len() == b.len() {
        let changed = a.iter().zip(b).filter(|(a, b)| a != b);
        for (a, b) in changed.take(DIFFERENCES_MAX) {
            differences.push(Difference::new(path_of(a, paths), a, b).on(number));
        }
    } else {
        for piece in a.iter().take(DIFFERENCES_MAX) {
            differences.push(Difference::new(path_of(piece, paths), piece, "not there").on(number));
        }
        for piece in b.iter().take(DIFFERENCES_MAX) {
            differences.push(Difference::new("text", "nothing", piece).on(number));
        }
    }
    if ours.painted != theirs.painted {
        let words = |page: &Page| {
            let counts = page.painted.iter().map(|(word, count)| format!("{count} {word}"));
            counts.collect::<Vec<_>>().join(", ")
        };
        differences.push(Difference::new("lines and shapes", &words(ours), &words(theirs)).on(number));
    }
    // The field of a signature is an annotation of the first page.
    let field = usize::from(number == 1);
    if theirs.annotations > ours.annotations + field {
        let (a, b) = (ours.annotations.to_string(), theirs.annotations.to_string());
        differences.push(Difference::new("annotations", &a, &b).on(number));
    }
}

/// What is left of two lists without their common beginning and end.
fn middle<'p>(a: &'p [String], b: &'p [String]) -> (&'p [String], &'p [String]) {
    let begin = a.iter().zip(b).take_while(|(a, b)| a == b).count();
    let (a, b) = (a.get(begin..).unwrap_or_default(), b.get(begin..).unwrap_or_default());
    let end = a.iter().rev().zip(b.iter().rev()).take_while(|(a, b)| a == b).count();
    (a.get(..a.len() - end).unwrap_or_default(), b.get(..b.len() - end).unwrap_or_default())
}

/// The numbers of `result.json` that print as this text, or stand in it; else the text itself.
fn path_of(text: &str, paths: &[(String, String)]) -> String {
    let plain = |text: &str| text.replace('\u{a0}', " ");
    let text = plain(text);
    let whole = paths.iter().filter(|(_, value)| plain(value) == text);
    let whole: Vec<&str> = whole.map(|(path, _)| path.as_str()).take(2).collect();
    if !whole.is_empty() {
        return whole.join(" or ");
    }
    let printed = paths.iter().filter(|(path, _)| path.contains("printed"));
    let within = printed.filter(|(_, value)| value.len() > 2 && text.contains(&plain(value)));
    match within.map(|(path, _)| path.as_str()).next() {
        Some(path) => format!("text with {path}"),
        None => "text".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_differs_is_left() {
        let list = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        let (a, b) = (list("a b c d"), list("a x y d"));
        assert_eq!(middle(&a, &b), (&a[1..3], &b[1..3]));
        let (a, b) = (list("a b b c"), list("a b c"));
        assert_eq!(middle(&a, &b), (&a[2..3], &b[2..2]));
    }
}
