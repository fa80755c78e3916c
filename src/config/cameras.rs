//! Cameras: where a still picture of what they see is had, to go with the mails about a dam.
//!
//! What a camera makes out by itself comes as a sensor's message; this is about pictures alone.

use crate::plain::ids::DeviceId;

/// `[[camera]]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Camera {
    /// As `[[device]]` names it.
    pub id: DeviceId,
    pub still: Still,
    /// A picture of more bytes than this is not taken.
    pub largest: usize,
}

/// Where its newest picture is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Still {
    /// Fetched when it is wanted.
    Url(StillUrl),
    /// Published on this one topic, which is not a filter.
    Topic(String),
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StillUrl {
    pub url: String,
    pub user: Option<String>,
    pub password_file: Option<String>,
    /// A PEM file of certificate authorities to trust besides the system's.
    pub ca: Option<String>,
    pub allow_private: bool,
}

/// Parts a camera from a region of what it sees: `cam-1/left pen`.
pub const REGION: char = '/';

impl Camera {
    /// Whether a device is this camera, or a region of what it sees.
    pub fn is_meant_by(&self, device: &str) -> bool {
        device
            .strip_prefix(self.id.as_str())
            .is_some_and(|rest| rest.is_empty() || rest.starts_with(REGION))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_region_belongs_to_its_camera_and_a_longer_name_does_not() {
        let camera = Camera {
            id: DeviceId::new("cam-1"),
            still: Still::Topic("yard/cam/cam-1/jpeg".to_owned()),
            largest: 1,
        };
        for (device, meant) in [
            ("cam-1", true),
            ("cam-1/left pen", true),
            ("cam-12", false),
            ("cam-", false),
            ("yard/cam-1", false),
        ] {
            assert_eq!(camera.is_meant_by(device), meant, "{device}");
        }
    }
}
