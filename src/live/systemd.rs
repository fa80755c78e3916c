//! Tells systemd how we are. Outside systemd it does nothing.

use sd_notify::NotifyState;

pub fn ready() {
    tell(NotifyState::Ready);
}

/// Fed by the loop itself after a turn, never by a timer: a loop that hangs is restarted.
pub fn alive() {
    tell(NotifyState::Watchdog);
}

pub fn stopping() {
    tell(NotifyState::Stopping);
}

fn tell(state: NotifyState<'_>) {
    if let Err(why) = sd_notify::notify(&[state]) {
        tracing::debug!("systemd was not told: {why}");
    }
}
