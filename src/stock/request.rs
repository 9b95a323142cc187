//! What a run is asked to do with a stock file and its log.

use super::log::{WeekKey, fingerprint};
use serde::Serialize;
use serde_json::json;

/// What is asked of a ledger.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub enum Act {
    /// Take a week, unless that was done.
    #[default]
    Take,
    /// Take it once more.
    Again,
    /// Take the last entry back.
    Undo,
    /// Take it back in the log alone: the amounts were put back by hand.
    UndoByHand,
}

/// What a run is asked to do.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// What is to be done.
    pub act: Act,
    /// Local date and time of the run.
    pub date: String,
    /// The week's name.
    pub week: String,
    /// The local time of its mixing; empty where the week does not say.
    pub mix_on: String,
    /// A fingerprint of what is sown ([`Request::sowings_of`]).
    pub sowings: String,
    /// What the user chose and bought for it.
    pub choices: Vec<String>,
}

impl Request {
    /// Which week it is for.
    pub fn key(&self) -> WeekKey {
        WeekKey::new(&self.week, &self.mix_on)
    }

    /// The fingerprint of what is sown: a line a sowing, in any order.
    pub fn sowings_of(mut sown: Vec<String>) -> String {
        sown.sort_unstable();
        fingerprint(sown.join("\n").as_bytes())
    }

    /// Whether another asks for the same.
    pub fn is_same(&self, other: &Self) -> bool {
        self.words() == other.words()
    }

    /// What the same command has in common when it is run again. What is taken back does not
    /// depend on what is sown now.
    pub(super) fn words(&self) -> String {
        let takes = matches!(self.act, Act::Take | Act::Again);
        json!([self.act, self.key(), takes.then_some(&self.sowings), self.choices]).to_string()
    }
}
