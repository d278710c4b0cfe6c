//! Pictures of the engine, one or many in a file, drawn without a window.

use bevy::prelude::*;

use super::app::error::Error;
use super::app::off_screen::{self, Canvas};
use super::app::renderer::{Adapter, adapter, without_panic};
use super::open::engine_and_panes;
use super::panes::{NextPane, Panes};
use super::scene::{
    self,
    camera::{self, SetView},
    mesh::Fineness,
};
use super::session::bench::{Bench, Opened};

/// What is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// The set view it is drawn from.
    pub view: SetView,
    /// The window with all its panes, this one on the right; None for the engine alone.
    pub pane: Option<String>,
    /// Width and height, pixels.
    pub size: (u32, u32),
    /// The crank's turn in each frame; one frame is a still picture.
    pub turned_deg: Vec<f64>,
    /// Frames a second, where there are more than one.
    pub frames_a_second: u16,
}

/// Draws the picture and gives the PNG file's bytes: an animated PNG where there is more than one
/// frame.
///
/// # Errors
/// Where no adapter can be had, or it gives no picture, or there is no such pane.
pub fn png(opened: &Opened, picture: &Picture) -> Result<Vec<u8>, Error> {
    let adapter = adapter()?;
    let frames =
        without_panic(|| frames(opened, picture, adapter)).unwrap_or(Err(Error::NoPicture))?;
    encoded(picture, &frames).map_err(|error| Error::Png(error.to_string()))
}

/// New meshes take some frames to reach the renderer, on one adapter more than on another; in so
/// many everything has been drawn at least once.
const FRAMES_UNTIL_DRAWN: usize = 5;

fn frames(opened: &Opened, picture: &Picture, adapter: Adapter) -> Result<Vec<Vec<u8>>, Error> {
    let mut app = off_screen::app(adapter, UVec2::new(picture.size.0, picture.size.1));
    app.insert_resource(Fineness::Fine);
    match &picture.pane {
        None => {
            app.insert_resource(ClearColor(Color::srgb_u8(0xDF, 0xE4, 0xE6)));
            app.insert_resource(Bench::new(&opened.engine, &opened.assembly));
            app.insert_resource(FromView(picture.view));
            app.add_plugins(scene::plugin);
            app.add_systems(Startup, spawn_camera);
        }
        Some(_) => engine_and_panes(&mut app, opened),
    }
    off_screen::ready(&mut app);
    (0..FRAMES_UNTIL_DRAWN).for_each(|_| off_screen::step(&mut app));
    if let Some(asked) = &picture.pane {
        choose(&mut app, asked, picture.view)?;
    }
    let mut frames = Vec::with_capacity(picture.turned_deg.len());
    for &turned_deg in &picture.turned_deg {
        app.world_mut().resource_mut::<Bench>().turn_to(turned_deg);
        // Once to move what moves, then to draw it.
        off_screen::step(&mut app);
        frames.push(off_screen::picture(&mut app).ok_or(Error::NoPicture)?);
    }
    Ok(frames)
}

/// Chooses a pane and a view, and draws until both have their place.
fn choose(app: &mut App, asked: &str, view: SetView) -> Result<(), Error> {
    let titles: Vec<&str> = app.world().resource::<Panes>().titles().collect();
    let named = titles
        .iter()
        .find(|title| title.eq_ignore_ascii_case(asked));
    let Some(title) = named else {
        return Err(Error::NoPane(asked.to_owned(), titles));
    };
    app.world_mut().insert_resource(NextPane(title));
    (0..FRAMES_UNTIL_DRAWN).for_each(|_| off_screen::step(app));
    app.world_mut().write_message(view);
    (0..FRAMES_UNTIL_DRAWN).for_each(|_| off_screen::step(app));
    Ok(())
}

/// The set view the picture is drawn from.
#[derive(Resource)]
struct FromView(SetView);

fn spawn_camera(
    mut commands: Commands,
    bench: Res<Bench>,
    from: Res<FromView>,
    canvas: Res<Canvas>,
) {
    let aspect = canvas.size.x as f32 / canvas.size.y.max(1) as f32;
    commands.spawn((
        camera::camera_bundle(true),
        canvas.target(),
        from.0.pose(bench.layout(), aspect, 0.0).transform(),
    ));
}

fn encoded(picture: &Picture, frames: &[Vec<u8>]) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.size.0, picture.size.1);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    if frames.len() > 1 {
        encoder.set_animated(frames.len() as u32, 0)?;
        encoder.set_frame_delay(1, picture.frames_a_second.max(1))?;
    }
    let mut writer = encoder.write_header()?;
    for frame in frames {
        let opaque: Vec<u8> = frame
            .chunks_exact(4)
            .flat_map(|pixel| [pixel[0], pixel[1], pixel[2]])
            .collect();
        writer.write_image_data(&opaque)?;
    }
    writer.finish()?;
    Ok(bytes)
}
