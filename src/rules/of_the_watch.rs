//! Rules that need no more than a name and a span: about gateways, cover, and people.

use crate::plain::ids::RuleName;
use crate::plain::moment::Span;

/// A gateway through which nothing comes.
#[derive(Clone, Debug)]
pub struct GatewayRule {
    pub name: RuleName,
    pub limit: Span,
}

/// A dam in her window whom nothing and nobody watches.
#[derive(Clone, Debug)]
pub struct UnwatchedRule {
    pub name: RuleName,
    pub limit: Span,
}

/// Somebody who is not out again so long after they would be.
#[derive(Clone, Debug)]
pub struct AloneRule {
    pub name: RuleName,
    pub limit: Span,
}

/// A drill that goes on so long unless it is answered.
#[derive(Clone, Debug)]
pub struct DrillRule {
    pub name: RuleName,
    pub lasts: Span,
}

/// Hours of the rota that nobody takes, seen so long ahead.
#[derive(Clone, Debug)]
pub struct UncoveredRule {
    pub name: RuleName,
    pub ahead: Span,
}
