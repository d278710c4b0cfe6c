//! The program: reads the command line and hands over to the library.

fn main() {
    for scene in &dotwise::engine::scenes::SCENES {
        let read = dotwise::engine::read::engine(scene.text);
        print!("{}", dotwise::engine::Report { source: scene.name, text: scene.text, findings: &read.findings }.to_terminal(false));
        if let Some(engine) = read.engine {
            println!("{} {:?}", scene.name, engine.firing_angles());
        }
    }
}
