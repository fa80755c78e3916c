//! What has come in on one connection and is not yet confirmed to the broker.
//!
//! A window lives exactly as long as its connection. Packet numbers mean nothing on the next one
//! (the broker may have given the number to another message), so a confirmation for an old
//! connection must not be sent on a new one. It cannot be: its way back ends in a channel that went
//! with the old window.

use std::collections::VecDeque;

use tokio::sync::mpsc;

use crate::line::Receipt;
use crate::plain::moment::Span;

/// How the broker knows a message: the number it gave it, and whether it is a QoS 2 message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Ticket {
    pub(super) packet: u16,
    pub(super) exactly_once: bool,
}

/// What became of the message with this place in the window.
#[derive(Debug)]
pub(super) struct Settled {
    place: u64,
    confirmed: bool,
}

/// Messages in the order in which they came, for MQTT 5 section 4.6 (MQTT-4.6.0-2): they are
/// acknowledged in the order in which they came, however they are confirmed.
pub(super) struct Window {
    waiting: VecDeque<(Ticket, State)>,
    /// The place of the front of `waiting`.
    first: u64,
    /// From this many unconfirmed messages on, the next one is in a hurry.
    half: usize,
    patience: Span,
    settled: mpsc::UnboundedSender<Settled>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    Open,
    Confirmed,
    /// Whoever had it let it go: the broker keeps it and sends it again on the next connection.
    Dropped,
}

impl Window {
    /// `size` is how many unconfirmed messages the broker sends before it waits. The channel has no
    /// cap of its own: it never holds more than one word for each message in the window.
    pub(super) fn new(size: usize, patience: Span) -> (Self, mpsc::UnboundedReceiver<Settled>) {
        let (settled, hear) = mpsc::unbounded_channel();
        let window =
            Self { waiting: VecDeque::new(), first: 0, half: (size / 2).max(1), patience, settled };
        (window, hear)
    }

    /// Takes a message in. Its receipt can wait the farm's whole patience while the window has room;
    /// past half of it, not at all, or the broker would stop sending.
    pub(super) fn admit(&mut self, ticket: Ticket) -> Receipt {
        let slip = Slip {
            place: self.first + self.waiting.len() as u64,
            confirmed: false,
            back: self.settled.clone(),
        };
        let patience = if self.waiting.len() + 1 >= self.half { Span::ZERO } else { self.patience };
        self.waiting.push_back((ticket, State::Open));
        Receipt::new(patience, move || slip.confirm())
    }

    pub(super) fn settle(&mut self, settled: &Settled) {
        let index = settled.place.checked_sub(self.first);
        let entry = index.and_then(|i| self.waiting.get_mut(usize::try_from(i).ok()?));
        if let Some((_, state)) = entry {
            *state = if settled.confirmed { State::Confirmed } else { State::Dropped };
        }
    }

    /// Acknowledges what can be acknowledged in order; stops where `acknowledge` has no room.
    pub(super) fn release(&mut self, mut acknowledge: impl FnMut(Ticket) -> bool) {
        while let Some((ticket, state)) = self.waiting.front() {
            match state {
                State::Open => return,
                State::Confirmed if !acknowledge(*ticket) => return,
                State::Confirmed | State::Dropped => {
                    self.waiting.pop_front();
                    self.first += 1;
                }
            }
        }
    }

    /// Whether something confirmed still waits for room.
    pub(super) fn owes(&self) -> bool {
        matches!(self.waiting.front(), Some((_, State::Confirmed)))
    }
}

/// The one way back for one message. Let go without a word, it says so itself.
struct Slip {
    place: u64,
    confirmed: bool,
    back: mpsc::UnboundedSender<Settled>,
}

impl Slip {
    fn confirm(mut self) {
        self.confirmed = true;
    }
}

impl Drop for Slip {
    fn drop(&mut self) {
        // An error means that the connection is gone, and with it the need to say anything.
        let _ = self.back.send(Settled { place: self.place, confirmed: self.confirmed });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn acknowledgements_leave_in_the_order_of_arrival() {
        let (mut window, mut hear) = Window::new(20, Span::seconds(20));
        let mut receipts: Vec<Receipt> = (1..=4).map(|n| window.admit(ticket(n))).collect();
        let (d, c, b, a) = (
            receipts.pop().unwrap(),
            receipts.pop().unwrap(),
            receipts.pop().unwrap(),
            receipts.pop().unwrap(),
        );
        d.confirm();
        b.confirm();
        assert_eq!(sent(&mut window, &mut hear), [0_u16; 0]);
        a.confirm();
        assert_eq!(sent(&mut window, &mut hear), [1, 2]);
        c.confirm();
        assert_eq!(sent(&mut window, &mut hear), [3, 4]);
    }

    #[test]
    fn a_message_let_go_is_not_acknowledged_and_holds_nobody_up() {
        let (mut window, mut hear) = Window::new(20, Span::seconds(20));
        let a = window.admit(ticket(1));
        let b = window.admit(ticket(2));
        drop(a);
        b.confirm();
        assert_eq!(sent(&mut window, &mut hear), [2]);
    }

    #[test]
    fn what_finds_no_room_goes_first_next_time() {
        let (mut window, mut hear) = Window::new(20, Span::seconds(20));
        window.admit(ticket(1)).confirm();
        window.admit(ticket(2)).confirm();
        while let Ok(settled) = hear.try_recv() {
            window.settle(&settled);
        }
        window.release(|_| false);
        assert!(window.owes());
        assert_eq!(sent(&mut window, &mut hear), [1, 2]);
        assert!(!window.owes());
    }

    #[test]
    fn past_half_of_the_window_there_is_no_patience() {
        let (mut window, _hear) = Window::new(20, Span::seconds(20));
        let receipts: Vec<Receipt> = (1..=11).map(|n| window.admit(ticket(n))).collect();
        let patience: Vec<i64> = receipts.iter().map(|r| r.patience.whole_seconds()).collect();
        assert_eq!(patience, [20, 20, 20, 20, 20, 20, 20, 20, 20, 0, 0]);
    }

    #[test]
    fn a_receipt_may_outlive_its_connection() {
        let (mut window, hear) = Window::new(20, Span::seconds(20));
        let late = window.admit(ticket(1));
        drop((window, hear));
        late.confirm();
    }

    fn ticket(packet: u16) -> Ticket {
        Ticket { packet, exactly_once: false }
    }

    fn sent(window: &mut Window, hear: &mut mpsc::UnboundedReceiver<Settled>) -> Vec<u16> {
        while let Ok(settled) = hear.try_recv() {
            window.settle(&settled);
        }
        let mut sent = Vec::new();
        window.release(|ticket| {
            sent.push(ticket.packet);
            true
        });
        sent
    }
}
