//! A shop as it is written down: site, spots, people, equipment, and how all of it hangs together.

mod account;
mod definition;
mod drawing_detail;
mod site;
mod technician;
mod unit;

pub use account::Account;
pub(crate) use definition::as_task;
pub use definition::{ShopDefinition, ShopDefinitionDraft};
pub use site::{PlanWeights, Shop, ShopDraft, SkyAssumed, Spot};
pub use technician::{DatedRole, Technician, TechnicianDraft};
pub use unit::{ABSENCES_MAX, UNIT_COUNT_MAX, Unit, UnitAbsence, UnitDraft};
