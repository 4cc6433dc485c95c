//! Which server, database and schema, and with whose password: as `libpq` finds them.

use std::fs;
use std::net::IpAddr;
use std::path::Path;

use postgres::Config;
use postgres::config::Host;

use super::fault::Place;
use super::password;
use crate::store::StoreError;

/// Where Debian's and most other servers put their socket.
const SOCKET_FOLDER: &str = "/var/run/postgresql";
/// PostgreSQL cuts longer names off.
const SCHEMA_BYTES_MAX: usize = 63;

/// A place for a ledger on a PostgreSQL server: database and schema.
///
/// There is no encryption on the way: a server that is not reached over a socket of the file system or a
/// loopback address is refused. A server elsewhere is reached through a tunnel.
#[derive(Debug, Clone)]
pub struct Server {
    config: Config,
    schema: String,
    place: Place,
}

impl Server {
    /// Reads a connection string (`host=/run/postgresql dbname=ledger user=bench`, or
    /// `postgresql://…`). What it leaves open is asked of `variable`, by the names that `libpq` gives
    /// the variables of the environment: `PGHOST`, `PGPORT`, `PGUSER`, `PGDATABASE`, `PGPASSWORD`,
    /// `PGPASSFILE`. A password is best left to the file `~/.pgpass`; never take one from the command
    /// line, where every user of the computer reads it (see [`Server::names_password`]).
    ///
    /// The schema keeps several ledgers of one database apart: lower-case letters, digits and `_`.
    ///
    /// # Errors
    /// [`StoreError::Failed`] with what is wrong; it never holds the password.
    pub fn new(
        connection: &str,
        schema: &str,
        variable: &dyn Fn(&str) -> Option<String>,
    ) -> Result<Server, StoreError> {
        let place = Place(format!("PostgreSQL, schema '{}'", schema.escape_debug()));
        let is_letter = |c: char| c.is_ascii_lowercase() || c == '_';
        let is_name = schema.starts_with(is_letter)
            && schema.len() <= SCHEMA_BYTES_MAX
            && !schema.starts_with("pg_")
            && schema.chars().all(|c| is_letter(c) || c.is_ascii_digit());
        if !is_name {
            return Err(place.failed("a schema is named with lower-case letters, digits and _"));
        }
        let config: Result<Config, _> = connection.parse();
        let mut config =
            config.map_err(|_| place.failed("the connection string is not one (its text is not shown)"))?;
        complete(&mut config, variable, &place)?;
        if config.get_application_name().is_none() {
            config.application_name("leverarm-ledger");
        }
        let host = host(&config);
        let database = config.get_dbname().or(config.get_user()).unwrap_or("?");
        let place = Place(format!("PostgreSQL database '{database}' at {host}, schema '{schema}'"));
        if !is_local(&config) {
            return Err(place.failed("without encryption only a socket or a loopback address is taken"));
        }
        if config.get_password().is_none()
            && let Some(password) = password::of(&config, variable, &place)?
        {
            config.password(password);
        }
        Ok(Server { config, schema: schema.to_owned(), place })
    }

    /// Reads the connection string from a file, as [`Server::new`] reads it.
    ///
    /// # Errors
    /// [`StoreError::Failed`]; also where it holds a password and others may read it.
    pub fn from_file(
        path: &Path,
        schema: &str,
        variable: &dyn Fn(&str) -> Option<String>,
    ) -> Result<Server, StoreError> {
        let place = Place(path.display().to_string());
        let text = fs::read_to_string(path).map_err(|error| place.failed(error.to_string()))?;
        if Server::names_password(text.trim()) {
            password::must_be_private(path, &place)?;
        }
        Server::new(text.trim(), schema, variable)
    }

    /// Whether a connection string holds a password.
    #[must_use]
    pub fn names_password(connection: &str) -> bool {
        connection.parse::<Config>().is_ok_and(|config| config.get_password().is_some())
    }

    /// The same server with another schema.
    ///
    /// # Errors
    /// [`StoreError::Failed`] where it is no name.
    pub fn with_schema(&self, schema: &str) -> Result<Server, StoreError> {
        let named = Server::new("host=/", schema, &|_| None)?;
        let shown = self.place.0.replace(&format!("schema '{}'", self.schema), &format!("schema '{schema}'"));
        Ok(Server { config: self.config.clone(), schema: named.schema, place: Place(shown) })
    }

    /// The name of the schema.
    #[must_use]
    pub fn schema(&self) -> &str {
        &self.schema
    }

    pub(super) fn config(&self) -> &Config {
        &self.config
    }

    pub(super) fn place(&self) -> Place {
        self.place.clone()
    }

    /// For SQL: it has no quotes in it.
    pub(super) fn quoted_schema(&self) -> String {
        format!("\"{}\"", self.schema)
    }
}

/// Adds what the variables say and the string does not.
fn complete(
    config: &mut Config,
    variable: &dyn Fn(&str) -> Option<String>,
    place: &Place,
) -> Result<(), StoreError> {
    if config.get_hosts().is_empty() && config.get_hostaddrs().is_empty() {
        config.host(&variable("PGHOST").unwrap_or_else(|| SOCKET_FOLDER.to_owned()));
    }
    if config.get_ports().is_empty()
        && let Some(port) = variable("PGPORT")
    {
        config.port(port.parse().map_err(|_| place.failed(format!("PGPORT is '{port}', no port")))?);
    }
    if config.get_user().is_none()
        && let Some(user) = variable("PGUSER").or_else(|| variable("USER"))
    {
        config.user(&user);
    }
    if config.get_dbname().is_none()
        && let Some(name) = variable("PGDATABASE")
    {
        config.dbname(&name);
    }
    if config.get_password().is_none()
        && let Some(password) = variable("PGPASSWORD")
    {
        config.password(password);
    }
    Ok(())
}

/// The first host, as it is shown and looked for in the file of passwords.
pub(super) fn host(config: &Config) -> String {
    match config.get_hosts().first() {
        Some(Host::Tcp(name)) => name.clone(),
        #[cfg(unix)]
        Some(Host::Unix(path)) => path.display().to_string(),
        None => config.get_hostaddrs().first().map(IpAddr::to_string).unwrap_or_default(),
    }
}

fn is_local(config: &Config) -> bool {
    let is_name_local = |host: &Host| match host {
        Host::Tcp(name) => name == "localhost" || name.parse().is_ok_and(|ip: IpAddr| ip.is_loopback()),
        #[cfg(unix)]
        Host::Unix(_) => true,
    };
    // An address counts where there is one; the name beside it is then only looked at by TLS.
    match config.get_hostaddrs() {
        [] => config.get_hosts().iter().all(is_name_local),
        addresses => addresses.iter().all(IpAddr::is_loopback),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;

    fn none(_: &str) -> Option<String> {
        None
    }

    #[test]
    fn variables_fill_what_the_string_leaves_open() {
        let variable = |name: &str| match name {
            "PGHOST" => Some("127.0.0.1".to_owned()),
            "PGPORT" => Some("5433".to_owned()),
            "PGUSER" => Some("bench".to_owned()),
            "PGDATABASE" => Some("ledger".to_owned()),
            "PGPASSWORD" => Some("grey geese".to_owned()),
            _ => None,
        };
        let server = Server::new("user=other", "skeldravoe", &variable).unwrap();
        let config = server.config();
        assert_eq!((config.get_user(), config.get_dbname()), (Some("other"), Some("ledger")));
        assert_eq!((config.get_ports(), config.get_password()), (&[5433][..], Some(&b"grey geese"[..])));
        let shown = server.place().shown();
        assert_eq!(shown, "PostgreSQL database 'ledger' at 127.0.0.1, schema 'skeldravoe'");
        assert!(!format!("{server:?}").contains("geese"));
        assert_eq!(host(Server::new("", "s", &none).unwrap().config()), SOCKET_FOLDER);
        assert_eq!(server.with_schema("fennimarsk").unwrap().schema(), "fennimarsk");
        assert!(server.with_schema("x\"; DROP").is_err());
    }

    #[test]
    fn what_would_go_over_the_network_in_the_clear_is_refused() {
        for connection in
            ["host=192.0.2.7", "host=bench.example", "host=localhost,bench.example", "hostaddr=192.0.2.7"]
        {
            assert!(Server::new(connection, "s", &none).is_err(), "{connection}");
        }
        for connection in ["host=::1", "host=localhost", "host=x.example hostaddr=127.0.0.2", "host=/tmp"] {
            Server::new(connection, "s", &none).unwrap();
        }
    }

    #[test]
    fn a_schema_is_a_plain_name_and_no_password_is_told() {
        for schema in ["", "a b", "A", "a\"b", "1a", "pg_x", "a;b", "ä", &"a".repeat(64)] {
            assert!(Server::new("host=/tmp", schema, &none).is_err(), "{schema}");
        }
        let error = Server::new("password=grey_geese nonsense", "s", &none).unwrap_err();
        assert!(!error.to_string().contains("geese"), "{error}");
        assert!(Server::names_password("postgresql://a:b@localhost/x"));
        assert!(!Server::names_password("postgresql://a@localhost/x"));
    }
}
