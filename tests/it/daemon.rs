//! The real program on a farm of its own, watched from outside through what it prints.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_lowbell");
/// The longest a test waits for anything that should happen: far longer than it takes.
pub(crate) const DEADLINE: Duration = Duration::from_secs(60);

/// A running watch.
pub(crate) struct Daemon {
    child: Child,
    lines: Receiver<String>,
    /// Everything it has printed so far.
    pub(crate) seen: Vec<String>,
}

impl Daemon {
    pub(crate) fn start(farm: &Path) -> Self {
        let mut child = Command::new(PROGRAM)
            .arg("run")
            .arg(farm)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (send, lines) = channel();
        let out = child.stdout.take().unwrap();
        let err = child.stderr.take().unwrap();
        for reader in [Box::new(out) as Box<dyn std::io::Read + Send>, Box::new(err)] {
            let send = send.clone();
            std::thread::spawn(move || {
                for line in BufReader::new(reader).lines().map_while(Result::ok) {
                    if send.send(line).is_err() {
                        break;
                    }
                }
            });
        }
        Self { child, lines, seen: Vec::new() }
    }

    /// Waits for a line that holds this text, and returns it. Looks only at new lines.
    pub(crate) fn says(&mut self, text: &str) -> String {
        loop {
            match self.lines.recv_timeout(DEADLINE) {
                Ok(line) => {
                    self.seen.push(line.clone());
                    if line.contains(text) {
                        return line;
                    }
                }
                Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => {
                    panic!("it never said {text:?}; it said:\n{}", self.seen.join("\n"));
                }
            }
        }
    }

    /// Dead at once, without a word.
    pub(crate) fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Asked to stop; gives back its exit code.
    pub(crate) fn stop(&mut self) -> i32 {
        let pid = self.child.id().to_string();
        assert!(Command::new("kill").args(["-TERM", &pid]).status().unwrap().success());
        self.child.wait().unwrap().code().unwrap_or(-1)
    }

    pub(crate) fn hang_up(&self) {
        let pid = self.child.id().to_string();
        assert!(Command::new("kill").args(["-HUP", &pid]).status().unwrap().success());
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Runs the program to its end.
pub(crate) fn lowbell(words: &[&str]) -> Output {
    Command::new(PROGRAM).args(words).output().unwrap()
}

pub(crate) fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}
