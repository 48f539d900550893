//! The app's own line drawings, one family: 24 units square, one stroke.

use leptos::attr::Attribute;
use leptos::attr::any_attribute::AnyAttribute;
use leptos::prelude::*;
use leptos::tachys::hydration::Cursor;
use leptos::tachys::renderer::types::{Element, Node};
use leptos::tachys::view::add_attr::AddAnyAttr;
use leptos::tachys::view::{Mountable, Position, PositionState, Render, RenderHtml};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Icon {
    Jobs,
    Measure,
    Alarms,
    Read,
    Back,
    Go,
    Holds,
    LookAgain,
    Fails,
    NotDone,
    Caution,
    Print,
    /// Left out, for a reason.
    Aside,
    /// More can be done with it.
    More,
    Camera,
    Aloud,
}

impl Icon {
    pub const ALL: [Icon; 16] = [
        Icon::Jobs,
        Icon::Measure,
        Icon::Alarms,
        Icon::Read,
        Icon::Back,
        Icon::Go,
        Icon::Holds,
        Icon::LookAgain,
        Icon::Fails,
        Icon::NotDone,
        Icon::Caution,
        Icon::Print,
        Icon::Aside,
        Icon::More,
        Icon::Camera,
        Icon::Aloud,
    ];

    fn path(self) -> &'static str {
        match self {
            // A mouthpiece and two waves.
            Icon::Aloud => {
                "M4 9.5h3.5L12 5.500v13L7.500 14.500H4zM15.500 9a4.500 4.500 0 0 1 0 6M18 6.500a8 8 0 0 1 0 11"
            }
            // A clip-board with two lines done and one open.
            Icon::Jobs => "M6 4.5h12v16H6zM9.5 4.5v-1.5h5v1.5M9 10h6M9 13.5h6M9 17h3",
            // Two probes and the resistor between them.
            Icon::Measure => "M3 12h3.5M17.5 12H21M6.5 8.5h11v7h-11zM3 12v7M21 12v7",
            // A hand bell.
            Icon::Alarms => "M12 3v2M7 16.5V11a5 5 0 0 1 10 0v5.5l1.5 1.5h-13zM10.5 20.5h3",
            // An open book.
            Icon::Read => {
                "M12 6.5C9.5 4.8 6.500 4.500 3.500 5v13.500c3-.5 6-.2 8.500 1.500 2.500-1.700 5.500-2 8.500-1.500V5c-3-.5-6-.2-8.500 1.500zM12 6.500V20"
            }
            Icon::Back => "M14.5 5.500L8 12l6.500 6.500",
            Icon::Go => "M9.500 5.500L16 12l-6.500 6.500",
            Icon::Holds => "M5 12.500l4.500 4.500L19 7.500",
            Icon::LookAgain => {
                "M4 12c3-5 13-5 16 0-3 5-13 5-16 0zM12 9.800a2.200 2.200 0 1 1 0 4.400 2.200 2.200 0 0 1 0-4.400z"
            }
            Icon::Fails => "M6.500 6.500l11 11M17.500 6.500l-11 11",
            Icon::NotDone => "M12 5a7 7 0 1 1 0 14 7 7 0 0 1 0-14z",
            Icon::Caution => "M12 4.500L21 19.500H3zM12 10v4.500M12 16.800v.4",
            Icon::Aside => "M6 12h12",
            Icon::More => "M12 5v.4M12 12v.4M12 19v.4",
            Icon::Camera => {
                "M3.500 8h4l2-2.500h5L16.500 8h4v11h-17zM12 10a3.200 3.200 0 1 1 0 6.400 3.200 3.200 0 0 1 0-6.400z"
            }
            Icon::Print => "M7 9V4h10v5M7 16H4.500V9.500h15V16H17M7 13.500h10V20H7z",
        }
    }
}

/// An icon as decoration: the words beside it carry the meaning.
pub fn icon(icon: Icon) -> AnyView {
    Drawing(icon).into_any()
}

fn draw(icon: Icon) -> AnyView {
    view! {
        <svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
            <path d=icon.path()></path>
        </svg>
    }
    .into_any()
}

/// A drawing that is left as it is while the icon is the same. Where a list is drawn anew, every attribute in it is taken away
/// and set again, and an icon has five: as many as the row that it stands in.
struct Drawing(Icon);

struct Drawn {
    icon: Icon,
    view: <AnyView as Render>::State,
}

impl Render for Drawing {
    type State = Drawn;

    fn build(self) -> Drawn {
        Drawn { icon: self.0, view: draw(self.0).build() }
    }

    fn rebuild(self, drawn: &mut Drawn) {
        if drawn.icon != self.0 {
            draw(self.0).rebuild(&mut drawn.view);
            drawn.icon = self.0;
        }
    }
}

impl Mountable for Drawn {
    fn unmount(&mut self) {
        self.view.unmount();
    }

    fn mount(&mut self, parent: &Element, marker: Option<&Node>) {
        self.view.mount(parent, marker);
    }

    fn insert_before_this(&self, child: &mut dyn Mountable) -> bool {
        self.view.insert_before_this(child)
    }

    fn elements(&self) -> Vec<Element> {
        self.view.elements()
    }
}

impl AddAnyAttr for Drawing {
    type Output<A: Attribute> = Drawing;

    // An icon has the attributes that it is drawn with.
    fn add_any_attr<A: Attribute>(self, _: A) -> Drawing {
        self
    }
}

// What views are asked for by servers, which this app has none of: the same as the drawing itself.
impl RenderHtml for Drawing {
    type AsyncOutput = AnyView;
    type Owned = Drawing;

    const MIN_LENGTH: usize = 0;

    fn dry_resolve(&mut self) {}

    async fn resolve(self) -> AnyView {
        draw(self.0)
    }

    fn to_html_with_buf(
        self,
        buf: &mut String,
        position: &mut Position,
        escape: bool,
        mark_branches: bool,
        extra: Vec<AnyAttribute>,
    ) {
        draw(self.0).to_html_with_buf(buf, position, escape, mark_branches, extra);
    }

    fn hydrate<const FROM_SERVER: bool>(self, cursor: &Cursor, position: &PositionState) -> Drawn {
        Drawn { icon: self.0, view: draw(self.0).hydrate::<FROM_SERVER>(cursor, position) }
    }

    fn into_owned(self) -> Drawing {
        self
    }
}
