//! Starts the app in the page that loads it.

fn main() {
    sixty_ohms::app::start();
}
