//! Why jobs are late or left out, on the way out.

use crate::time::timestamp;
use crate::v1;
use baywright_core::shop_day::{ToldReasons, ToldRemedy, ToldWait};

impl From<&ToldReasons> for v1::JobReasons {
    fn from(told: &ToldReasons) -> Self {
        Self {
            job_id: told.job.clone(),
            left_out: told.finish.is_none(),
            finish_time: told.finish.map(timestamp),
            promise_time: told.promise.map(timestamp),
            alone_finish_time: told.alone_finish.map(timestamp),
            waits: told.waits.iter().map(Into::into).collect(),
            remedies: told.remedies.iter().map(Into::into).collect(),
            complete: told.complete,
        }
    }
}

impl From<&ToldWait> for v1::PlanWait {
    fn from(told: &ToldWait) -> Self {
        Self {
            job_id: told.job.clone(),
            task_id: told.task.clone(),
            start_time: Some(timestamp(told.start)),
            sentence: told.sentence.clone(),
        }
    }
}

impl From<&ToldRemedy> for v1::PlanRemedy {
    fn from(told: &ToldRemedy) -> Self {
        Self {
            sentence: told.sentence.clone(),
            minutes: u32::try_from(told.minutes).unwrap_or(u32::MAX),
            finish_time: Some(timestamp(told.finish)),
            cost_before: told.cost.0,
            cost_after: told.cost.1,
            others_cost_before: told.others.0,
            others_cost_after: told.others.1,
            others_moved: u32::try_from(told.others_moved).unwrap_or(u32::MAX),
        }
    }
}
