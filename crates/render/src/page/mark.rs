//! A shape for each standing, to be seen apart without colour.

use kitlore_engine::Standing;
use maud::{Markup, html};

/// The shape in a square of its own, beside the word that says the same.
pub(crate) fn mark(standing: Standing) -> Markup {
    html! { svg.mark viewBox="-8 -8 16 16" aria-hidden="true" { (shape(standing)) } }
}

/// The shape around a middle of 0, 0, some 14 units wide.
pub(crate) fn shape(standing: Standing) -> Markup {
    html! {
        @match standing {
            Standing::Grounded => { rect x="-7" y="-7" width="14" height="14" {} path.cut d="M-4-4 4 4M-4 4 4-4" {} }
            Standing::Overdue => { path d="M0-7 7 6H-7Z" {} }
            Standing::Due => { path d="M0-7 7 0 0 7-7 0Z" {} }
            Standing::Soon => { circle.hollow r="6" stroke-width="2" {} path d="M0-6A6 6 0 0 0 0 6Z" {} }
            Standing::Clear => { circle.hollow r="6" stroke-width="2" {} }
            Standing::Unknown => { path.hollow d="M-4-4Q-4-7 0-7T4-3Q4 0 0 1V3M0 5V7" stroke-width="2.5" {} }
        }
    }
}
