//! The invented people's mail server: takes every mail and hands it over. It keeps nothing.

use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc;

/// A mail as it came.
pub(super) struct Mail {
    pub(super) to: String,
    pub(super) raw: String,
}

/// Our own watch sends small mails; anything past this is cut.
const MAIL_MAX: usize = 256 * 1024;

pub(super) async fn listen(port: u16) -> Result<mpsc::Receiver<Mail>, String> {
    let listener = TcpListener::bind(("127.0.0.1", port))
        .await
        .map_err(|why| format!("the demo's mail server cannot listen: {why}"))?;
    let (give, take) = mpsc::channel(64);
    tokio::spawn(async move {
        while let Ok((stream, _)) = listener.accept().await {
            let give = give.clone();
            tokio::spawn(async move {
                // A sender that breaks off tries again.
                let _ = serve(stream, &give).await;
            });
        }
    });
    Ok(take)
}

async fn serve(stream: TcpStream, give: &mpsc::Sender<Mail>) -> std::io::Result<()> {
    let (read, mut write) = stream.into_split();
    let mut lines = BufReader::new(read).lines();
    write.write_all(b"220 post.hollowbank.example\r\n").await?;
    let mut to = String::new();
    while let Some(line) = lines.next_line().await? {
        let verb = line.split([' ', ':']).next().unwrap_or_default().to_ascii_uppercase();
        let answer = match verb.as_str() {
            "EHLO" | "HELO" => "250 post.hollowbank.example\r\n",
            "RCPT" => {
                to = between(&line, '<', '>').to_owned();
                "250 ok\r\n"
            }
            "DATA" => {
                write.write_all(b"354 go on\r\n").await?;
                let mut raw = String::new();
                while let Some(line) = lines.next_line().await? {
                    if line == "." {
                        break;
                    }
                    if raw.len() < MAIL_MAX {
                        raw.push_str(line.strip_prefix('.').unwrap_or(&line));
                        raw.push_str("\r\n");
                    }
                }
                if give.send(Mail { to: to.clone(), raw }).await.is_err() {
                    return Ok(());
                }
                "250 taken\r\n"
            }
            "QUIT" => {
                write.write_all(b"221 bye\r\n").await?;
                return Ok(());
            }
            _ => "250 ok\r\n",
        };
        write.write_all(answer.as_bytes()).await?;
    }
    Ok(())
}

fn between(text: &str, open: char, close: char) -> &str {
    text.split_once(open)
        .and_then(|(_, rest)| rest.split_once(close))
        .map_or("", |(inner, _)| inner)
}
