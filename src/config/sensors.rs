//! What kinds of message sensors send, and which device is on which dam.

use crate::plain::ids::{Animal, DeviceId};
use crate::plain::moment::{Moment, Span};
use crate::plain::quantity::Unit;

/// `[[sensor]]`: one kind of message from any maker.
#[derive(Clone, Debug, PartialEq)]
pub struct SensorKind {
    /// A free word shown to people, such as "tail".
    pub kind: String,
    /// The MQTT filter with `{name}` wildcards as written.
    pub topic: String,
    pub form: Form,
    pub read: Vec<Read>,
    /// The message's own time, or each sample's.
    pub time: Option<TimeAt>,
    /// How old a sample was, counted back from `time` or from when it was heard.
    pub ago: Option<TimeAt>,
    /// How often it normally speaks.
    pub every: Option<Span>,
    /// Where the list of samples (or of a camera's detections) stands; the first that is there.
    pub each: Vec<String>,
    /// Where the payload names its device, if the topic does not.
    pub device: Vec<String>,
    /// Where the payload carries a frame counter.
    pub counter: Vec<String>,
    /// Bytes wrapped into a text within the message.
    pub raw: Option<Raw>,
    pub csv: CsvForm,
    /// Larger payloads are refused.
    pub largest: usize,
    pub clock: Clock,
    /// What counts as low of its sign "battery".
    pub battery_low: Option<f64>,
    /// A camera's picture, divided.
    pub regions: Vec<Region>,
    pub seen: Option<Seen>,
}

impl SensorKind {
    /// A kind that says no more than it must.
    pub fn plain(kind: &str, topic: &str, form: Form, read: Vec<Read>) -> Self {
        Self {
            kind: kind.to_owned(),
            topic: topic.to_owned(),
            form,
            read,
            time: None,
            ago: None,
            every: None,
            each: Vec::new(),
            device: Vec::new(),
            counter: Vec::new(),
            raw: None,
            csv: CsvForm::default(),
            largest: PAYLOAD_MAX,
            clock: Clock::default(),
            battery_low: None,
            regions: Vec::new(),
            seen: None,
        }
    }

    /// Whether it tells what a camera sees.
    pub fn sees(&self) -> bool {
        self.seen.is_some() || self.read.iter().any(|read| read.kind == ReadKind::Seen)
    }
}

/// A sensor's message is a few hundred bytes; a picture's frame belongs elsewhere.
pub const PAYLOAD_MAX: usize = 256 * 1024;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Json,
    /// The payload is one value.
    Text,
    /// Lines of values, each line a sample.
    Csv,
    /// RFC 8428 as JSON.
    Senml,
    /// RFC 8428 as CBOR.
    SenmlCbor,
    /// RFC 8949, read like JSON.
    Cbor,
    /// Read like JSON.
    Msgpack,
    /// The payload is bytes with a field table.
    Bytes,
    /// The same bytes as base64 text.
    Base64,
    /// The same bytes as hex text.
    Hex,
}

/// One quantity read from a message.
#[derive(Clone, Debug, PartialEq)]
pub struct Read {
    pub sign: String,
    /// Where it stands, the first that is there wins: RFC 6901 pointers, columns of a CSV by name or
    /// by number from 1, ends of a SenML name. Unused for `Form::Text` and for bytes.
    pub at: Vec<String>,
    pub kind: ReadKind,
    /// Where it stands in the raw bytes; a decoded value at `at` goes first.
    pub bytes: Option<ByteField>,
    /// The payload's own unit. Readings come in `unit.kept()`.
    pub unit: Option<Unit>,
    /// Where the payload says its unit.
    pub unit_at: Vec<String>,
    pub decimal: Decimal,
    /// Values that mean "no reading", as they stand in the payload: before scale and unit.
    pub none: Vec<f64>,
    /// Outside this range it is the sensor that is ill; in the unit readings come in.
    pub fits: Option<(f64, f64)>,
    /// The largest change in a minute that can be believed, in the unit readings come in.
    pub jump: Option<f64>,
    /// For `ReadKind::Seen`: the labels that count as this sign.
    pub label: Vec<String>,
}

impl Read {
    /// A read that says no more than it must.
    pub fn plain(sign: &str, at: &[&str], kind: ReadKind) -> Self {
        Self {
            sign: sign.to_owned(),
            at: at.iter().map(|at| (*at).to_owned()).collect(),
            kind,
            bytes: None,
            unit: None,
            unit_at: Vec::new(),
            decimal: Decimal::default(),
            none: Vec::new(),
            fits: None,
            jump: None,
            label: Vec::new(),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadKind {
    /// A measured quantity.
    Level,
    /// How many happened since the last message.
    Count,
    /// Happened or not: true, 1, "on" or "yes" means it did.
    Flag,
    /// How many happened since the device was new: only the difference says anything.
    Total,
    /// Online (1) or offline (0): a last will or a state of the line.
    Presence,
    /// The best score of a camera's labels in one picture, from 0 to 1.
    Seen,
}

/// How a text writes the decimal mark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Decimal {
    #[default]
    Point,
    Comma,
}

/// How a CSV text is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CsvForm {
    pub separator: char,
    /// The first line names the columns.
    pub header: bool,
}

impl Default for CsvForm {
    fn default() -> Self {
        Self { separator: ',', header: false }
    }
}

/// Where bytes are wrapped into a text, and how.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Raw {
    pub at: Vec<String>,
    pub wrap: Wrap,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wrap {
    Base64,
    Hex,
    /// Not wrapped: a byte string of CBOR or MessagePack.
    Bytes,
}

/// One number within bytes: `number`, or some bits of it, times `scale` plus `shift`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByteField {
    /// Counted from 0, or from the end where negative: -1 is the last byte.
    pub at: i32,
    pub number: ByteNumber,
    pub bits: Option<Bits>,
    pub scale: f64,
    pub shift: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ByteNumber {
    pub shape: Shape,
    /// 1, 2, 3, 4 or 8; 4 or 8 for a float.
    pub wide: u8,
    pub order: Order,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    Unsigned,
    Signed,
    Float,
}

/// Which byte of a number comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// The highest.
    Big,
    /// The lowest.
    Little,
}

/// Some of a number's bits, counted from the lowest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bits {
    pub from: u8,
    pub count: u8,
}

/// What to do about a device whose clock is found wrong.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Clock {
    /// Take off how far it is out.
    #[default]
    Correct,
    /// Take none of its times.
    Refuse,
}

/// A part of a camera's picture, in shares of its width and height from the top left.
#[derive(Clone, Debug, PartialEq)]
pub struct Region {
    pub name: String,
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

/// How a camera's detector writes what it saw: pointers into one detection.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    pub label: Vec<String>,
    pub score: Vec<String>,
    /// One pointer to a list of four numbers, or four pointers; empty if there are no boxes.
    pub boxed: Vec<String>,
    pub box_form: BoxForm,
    /// The picture's size, if boxes are in pixels; in shares of the picture else.
    pub size: Option<(f64, f64)>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BoxForm {
    /// Left, top, width, height.
    #[default]
    Sized,
    /// Left, top, right, bottom.
    Corners,
}

/// Where a message carries its own time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TimeAt {
    pub at: Vec<String>,
    pub form: TimeForm,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimeForm {
    UnixSeconds,
    UnixMillis,
    Rfc3339,
    /// Seconds before the message's own time, or before it was heard.
    AgoSeconds,
    AgoMillis,
}

/// How far ahead of what it warns of a kind of sensor speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Horizon {
    Now,
    Hours,
    Day,
}

impl Horizon {
    pub const fn words(self) -> &'static str {
        match self {
            Self::Now => "now",
            Self::Hours => "within hours",
            Self::Day => "within a day",
        }
    }
}

/// `[[device]]`: this device was on this dam from then to then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeviceOn {
    pub id: DeviceId,
    pub on: Animal,
    pub from: Option<Moment>,
    pub until: Option<Moment>,
    /// What it speaks as, known before it was ever heard: the kind of some sensor, or `PICTURES`.
    pub kind: Option<String>,
}

/// Said of a camera that only ever gives pictures: nothing is heard of it, and nothing is missed.
pub const PICTURES: &str = "pictures";
