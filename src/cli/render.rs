//! `render`: screens as image files.

use super::args::ProjectArgs;
use super::drawing::theme;
use super::{Outcome, Result, Stop, files, opened, print};
use crate::budget::residue::Shading;
use crate::device::Device;
use crate::filmstrip::{self, Shot};
use crate::frame::{Frame, files};
use crate::limits;
use crate::map::map;
use crate::output::{self, Overwrite};
use crate::plot::png::{LARGEST_SIDE, png};
use crate::plot::svg::svg;
use crate::render::{Show, frames, sheet};
use crate::source::fault::{Fault, nearest};
use crate::units::{Quantity, Ratio, ValueFault, count};
use crate::usage::script::{log, script};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Arguments of `render`.
#[derive(Debug, Args)]
pub struct RenderArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// Only these screens; all of them otherwise. May be repeated.
    #[arg(long = "screen", value_name = "ID")]
    screens: Vec<String>,
    /// The files' format.
    #[arg(long, value_enum, default_value_t = ImageFormat::Png)]
    to: ImageFormat,
    /// Pixels of the image for each pixel of the screen (PNG).
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=i64::from(limits::SCALE)))]
    scale: u32,
    /// Which values the fields have.
    #[arg(long, value_enum, default_value_t = Show::Sample)]
    values: Show,
    /// Only this locale; every locale otherwise, each in a folder of its name. `pseudo` is always there, made from the
    /// project's own words about 40 % longer.
    #[arg(long)]
    locale: Option<String>,
    /// Write one sheet.png with all screens instead of one file each.
    #[arg(long)]
    sheet: bool,
    /// Write the flow as a map, map.svg and map.png: images of all screens and boxes, arrows with their cause, energy and
    /// latency.
    #[arg(long, conflicts_with_all = ["screens", "to", "values", "sheet", "filmstrip"])]
    map: bool,
    /// Draw the map for a dark page.
    #[arg(long, requires = "map")]
    dark: bool,
    /// Write a journey of the usage as an animated image (APNG) with the panel's refreshes in their emulated times; or
    /// the file of a script with exact presses, or a recorded log of keys (.csv: time in s, key, down or up).
    #[arg(long, value_name = "JOURNEY|FILE", conflicts_with_all = ["screens", "to", "values", "sheet"])]
    filmstrip: Option<String>,
    /// How many times as fast as the device a filmstrip plays; chosen to be easy to follow otherwise.
    #[arg(long, value_name = "TIMES", requires = "filmstrip", value_parser = faster)]
    faster: Option<f64>,
    /// Shade what partial refreshes have left of older images where it is above this share of the contrast, as in "5 %".
    #[arg(long, value_name = "SHARE", requires = "filmstrip", value_parser = share)]
    residue: Option<f64>,
    /// The folder to write to.
    #[arg(long, value_name = "FOLDER", default_value = "images")]
    out: PathBuf,
    /// Overwrite files that inkjoule did not write.
    #[arg(long)]
    force: bool,
}

/// A format of image files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ImageFormat {
    /// Portable Network Graphics.
    Png,
    /// Netpbm P4: 1 is black, rows padded to bytes.
    Pbm,
}

/// Draws the screens and writes them.
///
/// # Errors
/// When the project, a screen's or locale's name, or the folder cannot be used.
pub fn run(args: &RenderArgs) -> Result {
    let loaded = opened(files(&args.project, args.locale.as_deref()))?;
    let device = &loaded.device;
    if let Some(name) = &args.filmstrip {
        return film(device, name, args);
    }
    let chosen = screens(device, &args.screens)?;
    let locales = locales(device, args.locale.as_deref())?;
    if args.map {
        return maps(device, &locales, args);
    }
    bounded(device, chosen.len() * locales.len(), args.scale)?;
    let mut outputs = Vec::new();
    for locale in locales {
        let folder = folder(device, locale, args);
        let drawn = frames(device, &chosen, locale, args.values);
        if args.sheet {
            outputs.push((format!("{folder}sheet.png"), sheet(device, locale, &drawn, args.scale)?));
        } else {
            for (screen, frame) in &drawn {
                let id = &device.screens[screen.0].id;
                outputs.push((format!("{folder}{id}.{}", args.to.ending()), args.to.bytes(frame, args.scale)?));
            }
        }
    }
    output::write_set(&args.out, &outputs, Overwrite::of(args.force))?;
    print(&format!("{} in {}\n", count(outputs.len(), "file", "files"), args.out.display()))?;
    Ok(Outcome::Fine)
}

/// The folder of a locale's files, where there are several.
fn folder(device: &Device, locale: usize, args: &RenderArgs) -> String {
    match device.locales[locale].as_str() {
        name if device.locales.len() > 1 && args.locale.is_none() => format!("{name}/"),
        _ => String::new(),
    }
}

/// Pixels of a map's PNG for each of its points, at the scale 1.
const MAP_SCALE: f32 = 2.0;

/// Writes the flow as a map.
fn maps(device: &Device, locales: &[usize], args: &RenderArgs) -> Result {
    let mut outputs = Vec::new();
    for locale in locales {
        let (folder, scene) = (folder(device, *locale, args), map(device, *locale));
        let scale = MAP_SCALE * args.scale as f32;
        let [width, height] = scene.size.map(|side| f64::from(side * scale));
        if width * height > limits::DRAWN_PIXELS as f64 || width.max(height) > f64::from(LARGEST_SIDE) {
            return Err(Fault::plain("the map's image would be too large").help("take a smaller --scale").into());
        }
        outputs.push((format!("{folder}map.svg"), svg(&scene, theme(args.dark)).into_bytes()));
        outputs.push((
            format!("{folder}map.png"),
            png(&scene, scale, theme(args.dark)).map_err(|why| Fault::plain(format!("cannot make the PNG: {why}")))?,
        ));
    }
    output::write_set(&args.out, &outputs, Overwrite::of(args.force))?;
    print(&format!("{} in {}\n", count(outputs.len(), "file", "files"), args.out.display()))?;
    Ok(Outcome::Fine)
}

fn faster(text: &str) -> std::result::Result<f64, ValueFault> {
    match text.parse::<f64>() {
        Ok(times) if (0.01..=1000.0).contains(&times) => Ok(times),
        _ => Err(ValueFault("expected a number from 0.01 to 1000".to_owned())),
    }
}

/// Writes a journey, a script or a log of keys as a filmstrip.
fn film(device: &Device, name: &str, args: &RenderArgs) -> Result {
    let locale = locales(device, args.locale.as_deref())?.first().copied().unwrap_or(0);
    let shading = shading(device, args.residue)?;
    let journeys = &device.usage.journeys;
    let (stem, shots) = match journeys.iter().position(|journey| journey.name == name) {
        Some(journey) => (name.to_owned(), filmstrip::shaded_shots(device, locale, (journey, None), shading)),
        None if Path::new(name).is_file() => scripted(device, locale, Path::new(name), shading)?,
        None => {
            let fault = Fault::plain(format!("there is no journey and no file `{name}`"));
            let help = nearest(name, journeys.iter().map(|journey| journey.name.as_str())).unwrap_or_default();
            return Err(fault.help(help).into());
        }
    };
    let pace = args.faster.unwrap_or_else(|| filmstrip::pace(&shots));
    let picture = filmstrip::apng(device, &shots, args.scale, pace)?;
    let file = format!("{stem}.png");
    let path = args.out.join(&file);
    output::write_set(&args.out, &[(file, picture)], Overwrite::of(args.force))?;
    print(&format!("{}, {} times as fast as the device\n", path.display(), crate::units::figures(pace)))?;
    Ok(Outcome::Fine)
}

/// A share of the contrast on the command line.
pub(super) fn share(text: &str) -> std::result::Result<f64, ValueFault> {
    Ratio::parse(text).map(|share| share.0)
}

/// The residue that is to be shaded.
pub(super) fn shading(device: &Device, above: Option<f64>) -> std::result::Result<Option<Shading>, Fault> {
    let Some(above) = above else { return Ok(None) };
    match Shading::of(device, Ratio(above)) {
        Some(shading) => Ok(Some(shading)),
        None => {
            let fault = Fault::plain("the panel states no residue that could be shaded");
            Err(fault.help("write residue = \"1.5 %\" in [panel]: the share that one partial refresh leaves"))
        }
    }
}

/// Largest script or log that is read, in bytes.
const SCRIPT_BYTES: u64 = 16 << 20;

/// What is seen of a script or log, and the name of its file without the ending.
fn scripted(
    device: &Device,
    locale: usize,
    path: &Path,
    shading: Option<Shading>,
) -> std::result::Result<(String, Vec<Shot>), Fault> {
    let shown = path.display().to_string();
    let fail = |why: &dyn std::fmt::Display| Fault::plain(format!("cannot read {shown}: {why}"));
    let bytes = std::fs::metadata(path).map_err(|why| fail(&why))?.len();
    if bytes > SCRIPT_BYTES {
        return Err(fail(&format!("it has {bytes} bytes, at most {SCRIPT_BYTES} are read")));
    }
    let text = std::fs::read_to_string(path).map_err(|why| fail(&why))?;
    let is_log = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
    let read = if is_log { log(device, &shown, &text)? } else { script(device, &shown, &text)? };
    let (shots, missed) = filmstrip::shaded_script_shots(device, locale, &read, shading);
    if let Some(first) = missed.first() {
        return Err(Fault::plain(first.words(device, &shown)));
    }
    let stem = path.file_stem().map_or_else(|| "script".to_owned(), |stem| stem.to_string_lossy().into_owned());
    Ok((stem, shots))
}

impl ImageFormat {
    fn ending(self) -> &'static str {
        match self {
            Self::Png => "png",
            Self::Pbm => "pbm",
        }
    }

    fn bytes(self, frame: &Frame, scale: u32) -> std::result::Result<Vec<u8>, Fault> {
        match self {
            Self::Png => files::png(frame, scale).map_err(|why| Fault::plain(format!("cannot make the PNG: {why}"))),
            Self::Pbm => Ok(files::pbm(frame)),
        }
    }
}

/// The screens of the given ids; all of them where none is given.
pub fn screens(device: &Device, ids: &[String]) -> std::result::Result<Vec<crate::screen::ScreenId>, Stop> {
    if ids.is_empty() {
        return Ok((0..device.screens.len()).map(crate::screen::ScreenId).collect());
    }
    ids.iter()
        .map(|id| {
            device.screen(id).ok_or_else(|| {
                let fault = Fault::plain(format!("there is no screen `{id}`"));
                fault
                    .help(nearest(id, device.screens.iter().map(|screen| screen.id.as_str())).unwrap_or_default())
                    .into()
            })
        })
        .collect()
}

/// Refuses to draw more than fits in memory, before anything is drawn.
///
/// # Errors
/// When that many images of the panel at a scale have more pixels than one run draws.
pub fn bounded(device: &Device, pictures: usize, scale: u32) -> std::result::Result<(), Fault> {
    let size = device.panel.size();
    let one = u64::from(size.width) * u64::from(size.height) * u64::from(scale).pow(2);
    let all = one.saturating_mul(pictures as u64);
    if all <= limits::DRAWN_PIXELS {
        return Ok(());
    }
    let most = limits::DRAWN_PIXELS;
    let fault = Fault::plain(format!("{pictures} images have {all} pixels together; one run draws at most {most}"));
    Err(fault.help("name some screens with --screen or one --locale, or take a smaller scale"))
}

/// The locales of the given name; all of them where none is given.
pub fn locales(device: &Device, name: Option<&str>) -> std::result::Result<Vec<usize>, Stop> {
    match name {
        None => Ok((0..device.locales.len()).collect()),
        Some(name) => Ok(vec![locale(device, name)?]),
    }
}

/// The position of a locale.
pub fn locale(device: &Device, name: &str) -> std::result::Result<usize, Fault> {
    let named = || device.locales.iter().map(String::as_str).filter(|locale| !locale.is_empty());
    device.locales.iter().position(|locale| locale == name && !name.is_empty()).ok_or_else(|| {
        let none = "leave --locale out: the project has no folder `strings`, so its texts are the same everywhere";
        let help = nearest(name, named()).unwrap_or_else(|| none.to_owned());
        Fault::plain(format!("there is no locale `{name}`")).help(help)
    })
}
