//! What people at this machine ask and the watch answers from what it knows: nothing is changed by it.

use super::socket::{Question, Reply};
use crate::paper::feed;
use crate::plain::moment::Moment;
use crate::watch::Watch;

/// `None` to what is no question but words for the watch.
pub(super) fn reply(question: &Question, watch: &Watch, now: Moment) -> Option<Reply> {
    Some(match question {
        Question::Board => Reply::Board(watch.view_at(now).map(Box::new)),
        Question::Season => Reply::Season(watch.season(now).map(Box::new)),
        Question::Calendar { feed } => calendar(feed.as_deref(), watch, now),
        Question::Say { .. } => return None,
    })
}

fn calendar(name: Option<&str>, watch: &Watch, now: Moment) -> Reply {
    let (Some(ready), Some(season)) = (watch.ready(), watch.season(now)) else {
        return Reply::Wrong { why: "the watch has no settings yet".to_owned() };
    };
    let config = &ready.config;
    let Some(name) = name else { return Reply::Calendar { text: feed::rota(config, now) } };
    let feeds = config.feeds.iter().flat_map(|feeds| &feeds.list);
    match feeds.clone().find(|feed| feed.name == *name) {
        Some(found) => Reply::Calendar { text: feed::feed(found, &season, config, now) },
        None => Reply::Wrong { why: format!("there is no feed called {name}") },
    }
}
