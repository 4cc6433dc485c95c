//! Stands between a store and its server, and cuts the line at a commit.

use std::io::{Read, Write};
use std::net::Shutdown;
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::thread;

pub const PASS: u8 = 0;
/// The server is told to commit; nobody hears its answer.
pub const CUT_AFTER: u8 = 1;
/// The server is not told.
pub const CUT_BEFORE: u8 = 2;
/// Cut with the next thing that is said, whatever it is.
pub const CUT_NOW: u8 = 3;

pub struct Proxy {
    pub folder: tempfile::TempDir,
    pub mode: Arc<AtomicU8>,
}

impl Proxy {
    /// Listens where the port of a server would be; passes on to the socket of the real one.
    pub fn to(server: PathBuf) -> Proxy {
        let folder = tempfile::tempdir().unwrap();
        let listener = UnixListener::bind(folder.path().join(".s.PGSQL.5432")).unwrap();
        let mode = Arc::new(AtomicU8::new(PASS));
        let shared = mode.clone();
        thread::spawn(move || {
            for client in listener.incoming() {
                let (client, server) = (client.unwrap(), UnixStream::connect(&server).unwrap());
                let back = (server.try_clone().unwrap(), client.try_clone().unwrap());
                thread::spawn(move || pass(back.0, back.1, |_| true));
                let mode = shared.clone();
                thread::spawn(move || to_server(client, server, &mode));
            }
        });
        Proxy { folder, mode }
    }

    pub fn set(&self, mode: u8) {
        self.mode.store(mode, Ordering::SeqCst);
    }
}

fn to_server(client: UnixStream, server: UnixStream, mode: &AtomicU8) {
    let (deaf, mut behind) = (client.try_clone().unwrap(), server.try_clone().unwrap());
    pass(client, server, |said| {
        let is_commit = said.windows(7).any(|window| window == b"COMMIT\0");
        let now = mode.load(Ordering::SeqCst);
        if now == CUT_NOW || (is_commit && now != PASS) {
            mode.store(PASS, Ordering::SeqCst);
            // The client hears nothing more.
            deaf.shutdown(Shutdown::Both).unwrap();
            if now == CUT_AFTER {
                behind.write_all(said).unwrap();
            }
            return false;
        }
        true
    });
}

/// Passes on until one side ends, or `look` says so.
fn pass(mut from: UnixStream, mut to: UnixStream, mut look: impl FnMut(&[u8]) -> bool) {
    let mut buffer = vec![0; 1 << 16];
    while let Ok(count) = from.read(&mut buffer) {
        if count == 0 || !look(&buffer[..count]) || to.write_all(&buffer[..count]).is_err() {
            break;
        }
    }
    let _ = to.shutdown(Shutdown::Write);
    let _ = from.shutdown(Shutdown::Read);
}
