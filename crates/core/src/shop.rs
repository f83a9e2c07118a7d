//! A shop as it is written down: site, spots, people, equipment, and how all of it hangs together.

mod definition;
mod site;
mod technician;
mod unit;

pub(crate) use definition::as_task;
pub use definition::{ShopDefinition, ShopDefinitionDraft};
pub use site::{PlanWeights, Shop, ShopDraft, Spot};
pub use technician::{Technician, TechnicianDraft};
pub use unit::Unit;
