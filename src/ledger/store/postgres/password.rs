//! The file of passwords that PostgreSQL's own programs read (manual, "The Password File"): lines of
//! `host:port:database:user:password`, `*` for anything, `\` before a `:` or `\` that is meant.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use postgres::Config;

use super::fault::Place;
use super::server;
use crate::store::StoreError;

/// The password for a connection, where the file has one.
pub(super) fn of(
    config: &Config,
    variable: &dyn Fn(&str) -> Option<String>,
    place: &Place,
) -> Result<Option<String>, StoreError> {
    let at_home = || variable("HOME").map(|home| PathBuf::from(home).join(".pgpass"));
    let Some(path) = variable("PGPASSFILE").map(PathBuf::from).or_else(at_home) else { return Ok(None) };
    let text = match fs::read_to_string(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(place.failed(format!("{}: {error}", path.display()))),
    };
    must_be_private(&path, place)?;
    let host = server::host(config);
    let host = if host == "/var/run/postgresql" { "localhost".to_owned() } else { host };
    let port = config.get_ports().first().copied().unwrap_or(5432).to_string();
    let user = config.get_user().unwrap_or_default();
    let wanted = [host.as_str(), &port, config.get_dbname().unwrap_or(user), user];
    Ok(text.lines().find_map(|line| matching(line, &wanted)))
}

/// A file with a password that others can read is not taken, as `libpq` does not take it.
pub(super) fn must_be_private(path: &Path, place: &Place) -> Result<(), StoreError> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = fs::metadata(path).map_err(|error| place.failed(error.to_string()))?.permissions().mode();
        if mode & 0o077 != 0 {
            let path = path.display();
            return Err(place.failed(format!("{path} holds a password and others may read it (chmod 600)")));
        }
    }
    #[cfg(not(unix))]
    let _ = (path, place);
    Ok(())
}

fn matching(line: &str, wanted: &[&str; 4]) -> Option<String> {
    if line.starts_with('#') {
        return None;
    }
    let mut fields = vec![String::new()];
    let mut characters = line.chars();
    while let Some(c) = characters.next() {
        match c {
            ':' if fields.len() < 5 => fields.push(String::new()),
            '\\' => fields.last_mut()?.push(characters.next()?),
            c => fields.last_mut()?.push(c),
        }
    }
    let [names @ .., password] = fields.as_slice() else { return None };
    let fits =
        names.len() == 4 && names.iter().zip(wanted).all(|(name, wanted)| name == "*" || name == wanted);
    fits.then(|| password.clone())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lines as the manual of PostgreSQL 15 describes them (34.16, "The Password File").
    #[test]
    fn lines_of_the_manual() {
        let wanted = ["localhost", "5432", "ledger", "bench"];
        for (line, password) in [
            ("localhost:5432:ledger:bench:grey:geese", Some("grey:geese")),
            ("*:*:*:bench:a\\:b\\\\c", Some("a:b\\c")),
            ("*:*:*:other:x", None),
            ("# localhost:5432:ledger:bench:x", None),
            ("localhost:5432:ledger:bench", None),
            ("", None),
        ] {
            assert_eq!(matching(line, &wanted).as_deref(), password, "{line}");
        }
    }
}
