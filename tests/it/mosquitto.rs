//! A real broker for a test: its own process, port and folder, on loopback, gone with the test.

use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpListener};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use lowbell::config::farm::{Broker, BrokerWay, MqttVersion, Voice};
use lowbell::plain::moment::Span;
use tempfile::TempDir;
use tokio::sync::mpsc;
use tokio::time::timeout;

/// Long enough for a laden machine; nothing waits so long unless it is broken.
pub(crate) const DEADLINE: Duration = Duration::from_secs(60);

pub(crate) struct Mosquitto {
    pub(crate) port: u16,
    pub(crate) folder: TempDir,
    running: Option<Running>,
}

struct Running {
    child: Child,
    log: mpsc::UnboundedReceiver<String>,
}

impl Mosquitto {
    /// Starts one with these lines in its configuration besides its port. `{folder}` is its folder.
    pub(crate) async fn start(settings: &str) -> Self {
        let mut broker = Self::prepare(settings);
        broker.resume().await;
        broker
    }

    /// Makes the folder and chooses the port, without starting anything.
    pub(crate) fn prepare(settings: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let port = free_port();
        let anonymous = if settings.contains("password_file") {
            "allow_anonymous false"
        } else {
            "allow_anonymous true"
        };
        let settings = settings.replace("{folder}", &folder.path().display().to_string());
        let text = format!(
            "listener {port} 127.0.0.1\n{anonymous}\nuser root\nlog_dest stderr\nlog_type all\n\
             persistence_location {}/\n{settings}\n",
            folder.path().display()
        );
        std::fs::write(folder.path().join("mosquitto.conf"), text).unwrap();
        Self { port, folder, running: None }
    }

    /// Starts it (again) on the same port and with the same folder.
    pub(crate) async fn resume(&mut self) {
        let mut child = Command::new("mosquitto")
            .arg("-c")
            .arg(self.folder.path().join("mosquitto.conf"))
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the Debian package mosquitto is installed");
        let lines = BufReader::new(child.stderr.take().unwrap()).lines();
        let (say, log) = mpsc::unbounded_channel();
        std::thread::spawn(move || {
            for line in lines.map_while(Result::ok) {
                if say.send(line).is_err() {
                    break;
                }
            }
        });
        self.running = Some(Running { child, log });
        self.logged(" running").await;
    }

    /// Waits for a line of its log.
    pub(crate) async fn logged(&mut self, text: &str) -> String {
        let log = &mut self.running.as_mut().expect("it runs").log;
        let mut seen = Vec::new();
        let found = timeout(DEADLINE, async {
            loop {
                let line = log.recv().await?;
                if line.contains(text) {
                    return Some(line);
                }
                seen.push(line);
            }
        })
        .await;
        match found {
            Ok(Some(line)) => line,
            Ok(None) | Err(_) => panic!("mosquitto never said {text:?}: {seen:#?}"),
        }
    }

    /// Ends it as a service manager does: it may save what it has.
    pub(crate) fn stop(&mut self) {
        if let Some(mut running) = self.running.take() {
            let pid = running.child.id().to_string();
            let asked = Command::new("kill").args(["-TERM", &pid]).status();
            assert!(asked.unwrap().success());
            running.child.wait().unwrap();
        }
    }

    /// Ends it as a power cut does.
    pub(crate) fn kill(&mut self) {
        if let Some(mut running) = self.running.take() {
            running.child.kill().unwrap();
            running.child.wait().unwrap();
        }
    }

    /// The settings of a farm that uses it.
    pub(crate) fn broker(&self, version: MqttVersion) -> Broker {
        broker_at(self.port, version)
    }

    /// Publishes with the broker's own tool; returns when that is content.
    pub(crate) fn publish(&self, arguments: &[&str]) {
        publish(self.port, arguments, "");
    }

    /// Publishes each line as a message of its own.
    pub(crate) fn publish_lines(&self, arguments: &[&str], lines: &[String]) {
        let mut all = arguments.to_vec();
        all.push("-l");
        publish(self.port, &all, &(lines.join("\n") + "\n"));
    }

    /// Publishes that many bytes.
    pub(crate) fn publish_bytes(&self, topic: &str, bytes: usize, arguments: &[&str]) {
        let path = self.folder.path().join("payload");
        std::fs::write(&path, vec![b'x'; bytes]).unwrap();
        let mut all = vec!["-t", topic, "-f", path.to_str().unwrap()];
        all.extend(arguments);
        self.publish(&all);
    }
}

impl Drop for Mosquitto {
    fn drop(&mut self) {
        if let Some(mut running) = self.running.take() {
            let _ = running.child.kill();
            let _ = running.child.wait();
        }
    }
}

pub(crate) fn publish(port: u16, arguments: &[&str], input: &str) {
    let mut child = publisher(port, arguments)
        .stdin(Stdio::piped())
        .spawn()
        .expect("the Debian package mosquitto-clients is installed");
    let mut stdin = child.stdin.take().unwrap();
    stdin.write_all(input.as_bytes()).unwrap();
    drop(stdin);
    assert!(child.wait().unwrap().success());
}

pub(crate) fn publisher(port: u16, arguments: &[&str]) -> Command {
    let mut command = Command::new("mosquitto_pub");
    command.args(["-h", "127.0.0.1", "-p", &port.to_string()]).args(arguments);
    command
}

/// Makes a file of names and passwords as the broker wants it.
pub(crate) fn password_file(path: &Path, user: &str, password: &str) {
    let made = Command::new("mosquitto_passwd")
        .args(["-b", "-c"])
        .arg(path)
        .args([user, password])
        .status();
    assert!(made.unwrap().success());
}

pub(crate) fn broker_at(port: u16, version: MqttVersion) -> Broker {
    Broker {
        way: BrokerWay::Url { host: "127.0.0.1".to_owned(), port, tls: false },
        version,
        user: None,
        password_file: None,
        ca: None,
        identity: None,
        client_id: "lowbell".to_owned(),
        keep_alive: Span::seconds(20),
        answers: None,
        group: Span::seconds(20),
        voice: Voice { echo: None, ..Voice::usual() },
    }
}

/// A port that was free a moment ago.
pub(crate) fn free_port() -> u16 {
    let listener = TcpListener::bind(SocketAddr::from(([127, 0, 0, 1], 0))).unwrap();
    listener.local_addr().unwrap().port()
}
