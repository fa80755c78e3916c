//! Carries a mail with a picture: the camera is asked at once, the mail leaves behind its call.
//!
//! It holds up nothing and calls nobody else: a picture that cannot be brought takes no line down and
//! climbs no rung. It is tried a few times and never after it is too late.

use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::watch;
use tokio::time::Instant;

use super::outbox::{Carrier, jittered};
use super::pictures::{Pictures, Seen};
use crate::alarm::message::{Message, MessageKind, Outcome, PICTURE_LATE};
use crate::config::lines::Way;
use crate::line::Attempt;
use crate::line::smtp::{self, Enclosed, Named};
use crate::plain::english;
use crate::plain::ids::DeviceId;
use crate::plain::moment::{Moment, Span};
use crate::talk::picture::{self, Call};

/// A picture is no call: three tries are enough.
const TRIES: &[u64] = &[0, 30, 120];

/// A file's name longer than this helps nobody.
const NAME_MAX: usize = 40;

/// What has become of the call that a picture follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fate {
    Flying,
    Left,
    Lost,
}

/// One mail with a picture on its way.
pub(super) struct Errand {
    pub(super) message: Message,
    /// When it was let go, by the watch's clock and by the one that only runs on.
    pub(super) now: Moment,
    pub(super) asked: Instant,
    /// Its call, if that is still on its way.
    pub(super) behind: Option<watch::Receiver<Fate>>,
}

impl Errand {
    /// Carries it until it is decided; `None` if it was withdrawn.
    pub(super) async fn carry(
        mut self,
        carrier: &Carrier,
        pictures: &Pictures,
        withdrawn: &AtomicBool,
    ) -> Option<Outcome> {
        let MessageKind::Picture { camera, raised, .. } = self.message.kind.clone() else {
            return Some(failed("this is no mail with a picture"));
        };
        let behind = self.behind.take();
        let (sight, call_left) = tokio::join!(pictures.look(&camera, self.asked), left(behind));
        if !call_left {
            return Some(failed("its call did not leave"));
        }
        let call = Call { raised, made: self.message.made };
        let enclosed = self.enclosed(&camera, sight, &call, pictures);
        let mut last = String::new();
        for wait in TRIES {
            tokio::time::sleep(jittered(*wait)).await;
            let attempt = {
                let _room = carrier.picture_room.acquire().await;
                if withdrawn.load(Ordering::Relaxed) {
                    return None;
                }
                if self.late() > PICTURE_LATE {
                    let late = english::span(self.late());
                    return Some(failed(&format!("it would come {late} after its call")));
                }
                self.once(carrier, &enclosed).await
            };
            match attempt {
                Attempt::Taken => return Some(Outcome::Taken),
                Attempt::Never { why } | Attempt::Gone { why } => return Some(failed(&why)),
                Attempt::Unsure { why } | Attempt::Later { why, .. } => last = why,
            }
        }
        Some(failed(&format!("after {} tries: {last}", TRIES.len())))
    }

    async fn once(&self, carrier: &Carrier, enclosed: &Enclosed) -> Attempt {
        let Way::Smtp(smtp) = &carrier.line.way else {
            return Attempt::Never { why: "only a mail can carry a picture".to_owned() };
        };
        match carrier.secret(smtp.server.password_file.as_deref()) {
            Ok(password) => {
                let (password, base) = (password.as_ref(), &carrier.base);
                smtp::send_enclosed(smtp, password, base, &self.message, enclosed).await
            }
            Err(why) => Attempt::Later { why, after: None },
        }
    }

    fn enclosed(
        &self,
        camera: &DeviceId,
        sight: Result<Seen, String>,
        call: &Call,
        pictures: &Pictures,
    ) -> Enclosed {
        let language = pictures.language_of(&self.message.to);
        let (caption, picture) = match sight {
            Ok(seen) => {
                let taken = seen.taken_after(self.asked).map(|after| self.now + after);
                let name = format!("{}.{}", file_name(camera), seen.picture.form.ending());
                let picture = seen.picture.as_ref().clone();
                let caption = picture::caption(camera, taken, call, &pictures.zone, language);
                (caption, Some(Named { name, picture }))
            }
            Err(why) => (picture::missing(camera, &why, language), None),
        };
        let text = picture::mail(&self.message.subject, &caption, &self.message.text);
        Enclosed { text, picture }
    }

    /// How long after its call it is now.
    fn late(&self) -> Span {
        let waited = i64::try_from(self.asked.elapsed().as_millis()).unwrap_or(i64::MAX);
        self.now.since(self.message.made) + Span::from_millis(waited)
    }
}

/// Waits until the call has left, or will not; one that is not on its way any more has.
async fn left(behind: Option<watch::Receiver<Fate>>) -> bool {
    let Some(mut behind) = behind else { return true };
    let fate = behind.wait_for(|fate| *fate != Fate::Flying).await;
    fate.is_ok_and(|fate| *fate == Fate::Left)
}

/// A camera's name as a file may be called anywhere.
fn file_name(camera: &DeviceId) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' };
    let name: String = camera.as_str().chars().map(plain).take(NAME_MAX).collect();
    let name = name.trim_matches('-');
    if name.is_empty() { "camera".to_owned() } else { name.to_owned() }
}

fn failed(why: &str) -> Outcome {
    Outcome::Failed { why: why.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cameras_name_makes_a_harmless_file_name() {
        for (camera, name) in [
            ("cam-1", "cam-1"),
            ("../etc/passwd", "etc-passwd"),
            ("left pen\r\nBcc: x", "left-pen--Bcc--x"),
            ("камера", "camera"),
        ] {
            assert_eq!(file_name(&DeviceId::new(camera)), name, "{camera}");
        }
    }
}
