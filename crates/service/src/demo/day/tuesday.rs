//! Tuesday until 07:30: glass that a fitter from outside set, two vehicles come, and those on the
//! early shift have begun. All of it is invented.

use super::{Floor, tuesday};
use crate::demo::{DemoError, caller::adhesive_set};

pub(super) async fn set_up(floor: Floor<'_>) -> Result<(), DemoError> {
    let caller = floor.caller;
    floor.hand.move_to(tuesday(6, 50));
    let told = "told by the fitter, with the adhesive's sheet (invented)";
    caller.outside_glass(("J-0909", "1"), adhesive_set(floor.hand.now()), told).await?;

    floor.hand.move_to(tuesday(7, 2));
    caller.record_arrival("J-1007", "front-row", "K-7").await?;
    let running = floor.pulls("teo", ("J-1007", "inspection"), tuesday(7, 20)).await?;
    caller.start(&running).await?;

    floor.hand.move_to(tuesday(7, 21));
    caller.record_arrival("J-1008", "front-row", "K-8").await?;
    let paused = floor.pulls("omar", ("J-1008", "inspection"), tuesday(7, 22)).await?;
    let paused = caller.start(&paused).await?;
    floor.hand.move_to(tuesday(7, 26));
    caller.pause(&paused, "the customer has called back the second key (invented)").await?;

    // Held and not started: the glass was set on Monday and has cured.
    floor.pulls("vera", ("J-0910", "front-camera"), tuesday(7, 27)).await?;

    floor.hand.move_to(tuesday(7, 28));
    caller.record_arrival("J-1001", "front-row", "K-1").await?;
    caller.record_arrival("J-1004", "yard", "K-4").await
}
