//! Names and numbers that must not be mixed up: each has a type of its own.

use std::borrow::Borrow;
use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

macro_rules! name {
    ($(#[$doc:meta])* $type:ident) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $type(Arc<str>);

        impl Default for $type {
            fn default() -> Self {
                Self(Arc::from(""))
            }
        }

        impl $type {
            pub fn new(text: &str) -> Self {
                Self(Arc::from(text))
            }

            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $type {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl Borrow<str> for $type {
            fn borrow(&self) -> &str {
                &self.0
            }
        }

        impl From<&str> for $type {
            fn from(text: &str) -> Self {
                Self::new(text)
            }
        }
    };
}

macro_rules! number {
    ($(#[$doc:meta])* $type:ident) => {
        $(#[$doc])*
        #[derive(
            Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
        )]
        #[serde(transparent)]
        pub struct $type(pub u64);

        impl fmt::Display for $type {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl $type {
            /// The one after this.
            #[must_use]
            pub fn next(self) -> Self {
                Self(self.0 + 1)
            }
        }
    };
}

name! {
    /// What the farm calls a dam: text, because leading zeros count.
    Animal
}
name! {
    /// What a sensor calls itself in its topic.
    DeviceId
}
name! {
    /// A person of the farm.
    PersonName
}
name! {
    /// A way out or back, as named in the settings.
    LineName
}
name! {
    /// A gateway or another branch of the way to the broker, as named in the settings.
    GatewayName
}
name! {
    /// A rule, as named in the settings.
    RuleName
}

number! {
    /// Counted from 1 in the order in which findings became alerts.
    AlertNo
}
number! {
    /// Counted from 1; the same on every retry of one message.
    MessageNo
}
