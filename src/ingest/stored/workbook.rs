//! A spreadsheet (XLSX, ISO/IEC 29500-1) as a table: the cells of one sheet and no more.
//!
//! A reader of our own: the digits of a number are wanted as they stand in the file, and every size
//! in it is bounded before memory is taken.

use quick_xml::events::Event;

use super::archive::Archive;
use super::error::{StoredError, WorkbookFault};
use super::sheet;
use super::table::Table;
use super::xml::{Xml, add_text, attribute};

/// Most texts that the cells of a workbook may share.
const TEXTS_MAX: usize = 500_000;

/// Whether bytes begin like a spreadsheet.
pub(super) fn is_one(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK")
}

/// Reads a sheet: the one that is named, or the only one.
pub(super) fn read(file: &str, bytes: &[u8], wanted: Option<&str>) -> Result<Table, StoredError> {
    let fault = |fault| StoredError::Workbook { file: file.to_owned(), fault };
    let archive = Archive::open(bytes).map_err(fault)?;
    let book = Book::read(&archive).map_err(fault)?;
    let names = || book.sheets.iter().map(|sheet| sheet.name.clone()).collect();
    let sheet = match (wanted, book.sheets.as_slice()) {
        (Some(name), sheets) => sheets.iter().find(|sheet| sheet.name == name),
        (None, [only]) => Some(only),
        (None, _) => None,
    };
    let Some(sheet) = sheet else {
        return Err(StoredError::Sheet {
            file: file.to_owned(),
            wanted: wanted.map(str::to_owned),
            found: names(),
        });
    };
    let shared = shared_texts(&archive, &book.folder).map_err(fault)?;
    let dates = date_styles(&archive, &book.folder).map_err(fault)?;
    let text = archive.text(&sheet.part).map_err(fault)?;
    let mut table = Table {
        file: file.to_owned(),
        sheet: Some(sheet.name.clone()),
        from_1904: book.from_1904,
        ..Table::default()
    };
    sheet::read(&sheet.part, &text, &shared, &dates, &mut table)?;
    Ok(table)
}

struct SheetPart {
    name: String,
    part: String,
}

struct Book {
    folder: String,
    sheets: Vec<SheetPart>,
    from_1904: bool,
}

impl Book {
    fn read(archive: &Archive<'_>) -> Result<Book, WorkbookFault> {
        let main = relations(archive, "", "_rels/.rels")?
            .into_iter()
            .find(|relation| relation.kind.ends_with("/officeDocument"))
            .map(|relation| relation.target)
            .ok_or_else(|| WorkbookFault::Missing { part: "the workbook".to_owned() })?;
        let (folder, name) =
            main.rsplit_once('/').map_or(("", main.as_str()), |(folder, name)| (folder, name));
        let folder = if folder.is_empty() { String::new() } else { format!("{folder}/") };
        let relations = relations(archive, &folder, &format!("{folder}_rels/{name}.rels"))?;
        let text = archive.text(&main)?;
        let mut book = Book { folder, sheets: Vec::new(), from_1904: false };
        let mut xml = Xml::of(&main, &text);
        while let Some(event) = xml.next()? {
            let Event::Start(element) = event else { continue };
            match element.local_name().as_ref() {
                "workbookPr" => {
                    book.from_1904 =
                        attribute(&element, "date1904").is_some_and(|word| word == "1" || word == "true");
                }
                "sheet" => {
                    let (Some(name), Some(id)) = (attribute(&element, "name"), attribute(&element, "id"))
                    else {
                        continue;
                    };
                    let target = relations.iter().find(|relation| relation.id == id);
                    if let Some(target) = target {
                        book.sheets.push(SheetPart { name, part: target.target.clone() });
                    }
                }
                _ => {}
            }
        }
        Ok(book)
    }
}

struct Relation {
    id: String,
    kind: String,
    target: String,
}

fn relations(archive: &Archive<'_>, folder: &str, part: &str) -> Result<Vec<Relation>, WorkbookFault> {
    let text = archive.text(part)?;
    let mut xml = Xml::of(part, &text);
    let mut relations = Vec::new();
    while let Some(event) = xml.next()? {
        let Event::Start(element) = event else { continue };
        if element.local_name().as_ref() != "Relationship" {
            continue;
        }
        let of = |name| attribute(&element, name).unwrap_or_default();
        let target = of("Target");
        let target = match target.strip_prefix('/') {
            Some(absolute) => absolute.to_owned(),
            None => format!("{folder}{target}"),
        };
        relations.push(Relation { id: of("Id"), kind: of("Type"), target });
    }
    Ok(relations)
}

/// The texts that cells share; those beside a text that say how it is pronounced are left out.
fn shared_texts(archive: &Archive<'_>, folder: &str) -> Result<Vec<String>, WorkbookFault> {
    let part = format!("{folder}sharedStrings.xml");
    if !archive.has(&part) {
        return Ok(Vec::new());
    }
    let text = archive.text(&part)?;
    let mut xml = Xml::of(&part, &text);
    let mut texts: Vec<String> = Vec::new();
    let (mut in_text, mut beside) = (false, false);
    while let Some(event) = xml.next()? {
        match &event {
            Event::Start(element) => match element.local_name().as_ref() {
                "si" if texts.len() == TEXTS_MAX => {
                    return Err(WorkbookFault::TooManyTexts { limit: TEXTS_MAX });
                }
                "si" => texts.push(String::new()),
                "rPh" => beside = true,
                "t" => in_text = true,
                _ => {}
            },
            Event::End(element) => match element.local_name().as_ref() {
                "rPh" => beside = false,
                "t" => in_text = false,
                _ => {}
            },
            other if in_text && !beside => {
                if let Some(last) = texts.last_mut() {
                    add_text(last, other);
                }
            }
            _ => {}
        }
    }
    Ok(texts)
}

/// Which styles show a number as a date or a time.
fn date_styles(archive: &Archive<'_>, folder: &str) -> Result<Vec<bool>, WorkbookFault> {
    let part = format!("{folder}styles.xml");
    if !archive.has(&part) {
        return Ok(Vec::new());
    }
    let text = archive.text(&part)?;
    let mut xml = Xml::of(&part, &text);
    let mut own: Vec<(u32, bool)> = Vec::new();
    let mut styles = Vec::new();
    let mut within = false;
    while let Some(event) = xml.next()? {
        match &event {
            Event::Start(element) => {
                let id = || attribute(element, "numFmtId").and_then(|id| id.parse::<u32>().ok());
                match element.local_name().as_ref() {
                    "numFmt" => {
                        let code = attribute(element, "formatCode").unwrap_or_default();
                        own.extend(id().map(|id| (id, is_date_format(&code))));
                    }
                    "cellXfs" => within = true,
                    "xf" if within => {
                        let id = id().unwrap_or(0);
                        let custom = own.iter().find(|(known, _)| *known == id).map(|(_, is_date)| *is_date);
                        styles.push(custom.unwrap_or(matches!(id, 14..=22 | 27..=36 | 45..=47 | 50..=58)));
                    }
                    _ => {}
                }
            }
            Event::End(element) if element.local_name().as_ref() == "cellXfs" => within = false,
            _ => {}
        }
    }
    Ok(styles)
}

/// Whether a number format shows a day or a time: letters for them outside quotation marks,
/// brackets and behind a backslash.
fn is_date_format(code: &str) -> bool {
    if ["general", "standard"].contains(&code.to_ascii_lowercase().as_str()) {
        return false;
    }
    let (mut quoted, mut bracketed, mut escaped) = (false, false, false);
    for c in code.chars() {
        match c {
            _ if escaped => escaped = false,
            '"' if !bracketed => quoted = !quoted,
            _ if quoted => {}
            '[' => bracketed = true,
            ']' => bracketed = false,
            '\\' | '_' | '*' => escaped = true,
            'y' | 'Y' | 'd' | 'D' | 'h' | 'H' | 's' | 'S' | 'm' | 'M' if !bracketed => return true,
            _ => {}
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::is_date_format;

    #[test]
    fn formats_of_days_and_of_numbers() {
        for code in ["yyyy\\-mm\\-dd hh:mm:ss", "d/m/yy", "[$-407]dd.mm.yyyy", "mm:ss.000"] {
            assert!(is_date_format(code), "{code}");
        }
        for code in ["General", "Standard", "0.0", "0.0 \"Nm days\"", "#,##0.00_d", "[Red]0.0", "0.0\\h"] {
            assert!(!is_date_format(code), "{code}");
        }
    }
}
