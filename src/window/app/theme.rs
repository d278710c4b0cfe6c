//! The window's theme: colours by role, surfaces, type sizes, spacing.
//!
//! There are three colour schemes: light for daylight, dark for the evening, high contrast for a
//! projector. The four strokes are told apart three ways, by colour, by letter and by hatch
//! ([`strokes`](crate::drawing::strokes)), so that none of them depends on colour alone; their
//! colours hold for the three common kinds of colour-blindness (tested below by simulating them).
//!
//! A panel asks [`Palette::of`] for its colours and never names one itself.

use std::sync::Arc;

use egui::style::{HandleShape, ScrollStyle, WidgetVisuals};
use egui::{
    Color32, Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Id, Margin,
    RichText, Stroke as Line, Style, TextStyle, Visuals, vec2,
};

use serde::{Deserialize, Serialize};

use crate::drawing::Role;
use crate::output::fonts;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub(crate) enum ColourScheme {
    /// Dark on light: for daylight.
    #[default]
    Light,
    /// Light on dark: for the evening.
    Dark,
    /// Black on white and nothing pale: for a projector.
    HighContrast,
}

impl ColourScheme {
    /// In the order they are offered.
    pub(crate) const ALL: [Self; 3] = [Self::Light, Self::Dark, Self::HighContrast];

    /// Its name in the window.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Light => "Light",
            Self::Dark => "Dark",
            Self::HighContrast => "High contrast",
        }
    }
}

/// How large the type is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub(crate) enum TypeSize {
    /// For a screen at arm's length.
    #[default]
    Usual,
    /// For a screen two metres away.
    Large,
    /// For a projector and a room.
    Room,
    /// For a projector and a hall: on a screen 1080 pixels high no letter of a panel is under 28.
    Hall,
}

impl TypeSize {
    /// In the order they are offered.
    pub(crate) const ALL: [Self; 4] = [Self::Usual, Self::Large, Self::Room, Self::Hall];

    /// Its name in the window.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Usual => "Usual type",
            Self::Large => "Large type",
            Self::Room => "Type for a room",
            Self::Hall => "Type for a hall",
        }
    }

    /// What every size of type, and the spacing with it, is multiplied by.
    pub(crate) fn times(self) -> f32 {
        match self {
            Self::Usual => 1.0,
            Self::Large => 1.2,
            Self::Room => 1.5,
            Self::Hall => 2.2,
        }
    }

    /// What small type is set in, before it is multiplied, points.
    fn small(self) -> f32 {
        match self {
            Self::Hall => BODY,
            _ => 11.0,
        }
    }
}

/// A colour scheme and a size of type.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub(crate) struct Theme {
    pub(crate) colours: ColourScheme,
    pub(crate) type_size: TypeSize,
}

/// The colours of one scheme.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Palette {
    /// Behind the panels.
    ground: Color32,
    pub(crate) backdrop: Color32,
    /// Buttons and headers.
    raised: Color32,
    /// Fields to type in, and the paper of a drawing.
    pub(crate) field: Color32,
    /// Edges of panels, buttons and tables.
    pub(crate) line: Color32,
    pub(crate) text: Color32,
    pub(crate) faint: Color32,
    /// What is chosen, and what has the keyboard.
    accent: Color32,
    pub(crate) caution_ground: Color32,
    /// Metal, on which other colours are drawn.
    metal: Color32,
    ghost: Color32,
    mark: Color32,
    intake: Color32,
    exhaust: Color32,
    power: Color32,
    compression: Color32,
    spark: Color32,
    rotor: Color32,
    now: Color32,
    caution: Color32,
}

/// The size of most type, points.
const BODY: f32 = 13.0;
/// The longest press that is still a click.
const LONGEST_CLICK_S: f64 = 2.0;
/// The name of the bold font.
const BOLD: &str = "Dotwise Sans Bold";

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

const LIGHT: Palette = Palette {
    ground: rgb(0xF3F1EC),
    backdrop: rgb(0xDFE4E6),
    raised: rgb(0xE5E1D9),
    field: rgb(0xFDFCFA),
    line: rgb(0xBFB8AB),
    text: rgb(0x1F1D1A),
    faint: rgb(0x5F5A51),
    accent: rgb(0x1B5E8C),
    caution_ground: rgb(0xFBE9C8),
    metal: rgb(0x8B939A),
    ghost: rgb(0x8478AC),
    mark: rgb(0x00705A),
    intake: rgb(0x0066A8),
    exhaust: rgb(0x8A3C74),
    power: rgb(0x9E2A00),
    compression: rgb(0x9C7F00),
    spark: rgb(0xC24400),
    rotor: rgb(0x6E431B),
    now: rgb(0xB4002E),
    caution: rgb(0x8F3500),
};

const DARK: Palette = Palette {
    ground: rgb(0x202326),
    backdrop: rgb(0x2B3136),
    raised: rgb(0x31363B),
    field: rgb(0x17191B),
    line: rgb(0x4C5359),
    text: rgb(0xEFECE5),
    faint: rgb(0xB3AEA3),
    accent: rgb(0x74BCE8),
    caution_ground: rgb(0x45361A),
    metal: rgb(0x8A939B),
    ghost: rgb(0xA79CD0),
    mark: rgb(0x3CC6A0),
    intake: rgb(0x4AA6E6),
    exhaust: rgb(0xEC94CC),
    power: rgb(0xE86A2C),
    compression: rgb(0xE3C04A),
    spark: rgb(0xFFA04A),
    rotor: rgb(0xD2A070),
    now: rgb(0xFF6F8B),
    caution: rgb(0xFFB766),
};

const HIGH_CONTRAST: Palette = Palette {
    ground: rgb(0xFFFFFF),
    backdrop: rgb(0xF2F2F2),
    raised: rgb(0xF2F2F2),
    field: rgb(0xFFFFFF),
    line: rgb(0x000000),
    text: rgb(0x000000),
    faint: rgb(0x2E2E2E),
    accent: rgb(0x003E7A),
    caution_ground: rgb(0xFFF0B8),
    metal: rgb(0x767C82),
    ghost: rgb(0x5E529A),
    mark: rgb(0x00513F),
    intake: rgb(0x00549A),
    exhaust: rgb(0x8A2A70),
    power: rgb(0x861C00),
    compression: rgb(0x8F7400),
    spark: rgb(0xA83A00),
    rotor: rgb(0x553010),
    now: rgb(0x9C0026),
    caution: rgb(0x7A2A00),
};

impl Palette {
    /// The palette of the current theme; the light one where none has been applied.
    pub(crate) fn of(ctx: &Context) -> Self {
        Theme::of(ctx).palette()
    }

    /// The ring round what has the keyboard.
    pub(crate) fn focus(&self) -> Color32 {
        self.accent
    }

    /// A role's colour for lines, outlines and text.
    pub(crate) fn ink(&self, role: Role) -> Color32 {
        match role {
            Role::Main => self.text,
            Role::Faint => self.faint,
            Role::Paper => self.field,
            Role::Metal => self.metal,
            Role::Ghost => self.ghost,
            Role::Mark => self.mark,
            Role::Intake => self.intake,
            Role::Exhaust => self.exhaust,
            Role::Spark => self.spark,
            Role::Rotor => self.rotor,
            Role::Now => self.now,
            Role::Power => self.power,
            Role::Compression => self.compression,
            Role::Caution => self.caution,
        }
    }

    /// A role's colour for areas: for strokes and metal a tint on which text is read, for the rest
    /// the colour of its lines.
    pub(crate) fn area(&self, role: Role) -> Color32 {
        match role {
            Role::Metal => mix(self.field, self.ink(role), 0.34),
            Role::Power | Role::Exhaust | Role::Intake | Role::Compression => {
                mix(self.field, self.ink(role), 0.22)
            }
            _ => self.ink(role),
        }
    }
}

/// The program's own fonts, plain and bold; egui's are used for characters not in them.
fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    for (name, cut, family) in [
        (fonts::FAMILY, fonts::PLAIN, FontFamily::Proportional),
        (BOLD, fonts::BOLD, FontFamily::Name(BOLD.into())),
    ] {
        fonts
            .font_data
            .insert(name.to_owned(), Arc::new(FontData::from_static(cut)));
        fonts
            .families
            .entry(family)
            .or_default()
            .insert(0, name.to_owned());
    }
    let behind = fonts
        .families
        .get(&FontFamily::Proportional)
        .cloned()
        .unwrap_or_default();
    fonts
        .families
        .entry(FontFamily::Name(BOLD.into()))
        .or_default()
        .extend(behind);
    fonts
        .families
        .entry(FontFamily::Monospace)
        .or_insert_with(|| vec![fonts::FAMILY.to_owned()]);
    fonts
}

/// The bold font; the plain one where no theme has been applied, as in tests.
pub(crate) fn bold(ctx: &Context) -> FontFamily {
    let bold = FontFamily::Name(BOLD.into());
    if ctx.fonts(|fonts| fonts.definitions().families.contains_key(&bold)) {
        bold
    } else {
        FontFamily::Proportional
    }
}

pub(crate) fn strong(ctx: &Context, words: impl Into<String>) -> RichText {
    RichText::new(words).family(bold(ctx)).strong()
}

/// `part` of the way from one colour to another.
fn mix(from: Color32, to: Color32, part: f32) -> Color32 {
    from.lerp_to_gamma(to, part)
}

impl Theme {
    fn id() -> Id {
        Id::new("current theme")
    }

    /// The theme that was applied last.
    pub(crate) fn of(ctx: &Context) -> Self {
        ctx.data(|data| data.get_temp(Self::id()))
            .unwrap_or_default()
    }

    pub(crate) fn palette(self) -> Palette {
        match self.colours {
            ColourScheme::Light => LIGHT,
            ColourScheme::Dark => DARK,
            ColourScheme::HighContrast => HIGH_CONTRAST,
        }
    }

    /// Makes it the theme of every panel drawn from now on. To apply the current one again costs
    /// nothing.
    pub(crate) fn apply(self, ctx: &Context) {
        let current: Option<Self> = ctx.data(|data| data.get_temp(Self::id()));
        if current == Some(self) {
            return;
        }
        if current.is_none() {
            ctx.set_fonts(fonts());
        }
        // Where the processor draws, a press and its release can be a second apart and are still a
        // click.
        ctx.options_mut(|options| options.input_options.max_click_duration = LONGEST_CLICK_S);
        ctx.data_mut(|data| data.insert_temp(Self::id(), self));
        let style = self.style();
        ctx.all_styles_mut(|each| each.clone_from(&style));
    }

    fn style(self) -> Style {
        let mut style = Style {
            visuals: self.visuals(),
            animation_time: 0.0,
            ..Style::default()
        };
        let size = |points: f32| points * self.type_size.times();
        let proportional = |points| FontId::new(size(points), FontFamily::Proportional);
        style.text_styles = [
            (TextStyle::Small, proportional(self.type_size.small())),
            (TextStyle::Body, proportional(BODY)),
            (TextStyle::Button, proportional(BODY)),
            (TextStyle::Heading, proportional(15.0)),
            (
                TextStyle::Monospace,
                FontId::new(size(BODY), FontFamily::Monospace),
            ),
        ]
        .into();
        style.spacing.item_spacing = vec2(8.0, 5.0);
        style.spacing.button_padding = vec2(8.0, 3.0);
        style.spacing.interact_size = vec2(26.0, size(24.0));
        style.spacing.icon_width = size(14.0);
        style.spacing.icon_width_inner = size(8.0);
        style.spacing.slider_width = size(100.0);
        style.spacing.indent = 14.0;
        style.spacing.combo_width = 40.0;
        style.spacing.scroll = ScrollStyle::solid();
        style.spacing.window_margin = Margin::same(10);
        style
    }

    fn visuals(self) -> Visuals {
        let palette = self.palette();
        let mut visuals = if self.colours == ColourScheme::Dark {
            Visuals::dark()
        } else {
            Visuals::light()
        };
        let wide = if self.colours == ColourScheme::HighContrast {
            1.5
        } else {
            1.0
        };
        let widget = |fill: Color32, edge: Line| WidgetVisuals {
            bg_fill: fill,
            weak_bg_fill: fill,
            bg_stroke: edge,
            corner_radius: CornerRadius::same(4),
            fg_stroke: Line::new(wide, palette.text),
            expansion: 0.0,
        };
        let edge = Line::new(wide, palette.line);
        let lit = Line::new(wide + 0.5, palette.accent);
        visuals.widgets.noninteractive = widget(palette.ground, edge);
        visuals.widgets.inactive = widget(palette.raised, edge);
        visuals.widgets.hovered = widget(mix(palette.raised, palette.accent, 0.10), lit);
        visuals.widgets.active = widget(
            mix(palette.raised, palette.accent, 0.18),
            Line::new(wide + 1.0, palette.accent),
        );
        visuals.widgets.open = widget(palette.raised, lit);
        visuals.selection.bg_fill = mix(palette.ground, palette.accent, 0.30);
        visuals.selection.stroke = Line::new(wide, palette.text);
        visuals.weak_text_color = Some(palette.faint);
        visuals.hyperlink_color = palette.accent;
        visuals.faint_bg_color = mix(palette.ground, palette.raised, 0.5);
        visuals.extreme_bg_color = palette.field;
        visuals.code_bg_color = palette.raised;
        visuals.warn_fg_color = palette.caution;
        visuals.error_fg_color = palette.now;
        visuals.window_fill = palette.ground;
        visuals.panel_fill = palette.ground;
        visuals.window_stroke = edge;
        visuals.window_corner_radius = CornerRadius::same(6);
        visuals.menu_corner_radius = CornerRadius::same(4);
        visuals.handle_shape = HandleShape::Rect { aspect_ratio: 0.6 };
        visuals.slider_trailing_fill = true;
        visuals
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::strokes;
    use crate::phasing::Stroke;

    const INKS: [Role; 12] = [
        Role::Main,
        Role::Faint,
        Role::Ghost,
        Role::Mark,
        Role::Intake,
        Role::Exhaust,
        Role::Spark,
        Role::Rotor,
        Role::Now,
        Role::Power,
        Role::Compression,
        Role::Caution,
    ];

    fn linear(colour: Color32) -> [f64; 3] {
        let channel = |value: u8| {
            let v = f64::from(value) / 255.0;
            if v <= 0.04045 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        };
        [
            channel(colour.r()),
            channel(colour.g()),
            channel(colour.b()),
        ]
    }

    /// Contrast ratio as in WCAG 2.2, section 1.4.3 (from memory).
    fn contrast(one: Color32, other: Color32) -> f64 {
        let luminance = |colour| {
            let [r, g, b] = linear(colour);
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    /// CIE L*a*b* of linear sRGB under D65, and the plain distance in it.
    fn lab(rgb: [f64; 3]) -> [f64; 3] {
        let [r, g, b] = rgb.map(|v| v.clamp(0.0, 1.0));
        let xyz = [
            (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505,
            0.2126 * r + 0.7152 * g + 0.0722 * b,
            (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089,
        ];
        let [x, y, z] = xyz.map(|t: f64| {
            if t > 0.008856 {
                t.cbrt()
            } else {
                7.787 * t + 16.0 / 116.0
            }
        });
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    fn apart(one: [f64; 3], other: [f64; 3]) -> f64 {
        let (one, other) = (lab(one), lab(other));
        one.iter()
            .zip(other)
            .map(|(a, b)| (a - b).powi(2))
            .sum::<f64>()
            .sqrt()
    }

    /// Full protanopia, deuteranopia and tritanopia on linear sRGB. Source: Machado, Oliveira,
    /// Fernandes, *A physiologically-based model for simulation of color vision deficiency*, 2009,
    /// table for severity 1.0 (from memory).
    const BLINDNESS: [(&str, [[f64; 3]; 3]); 3] = [
        (
            "protanopia",
            [
                [0.152286, 1.052583, -0.204868],
                [0.114503, 0.786281, 0.099216],
                [-0.003882, -0.048116, 1.051998],
            ],
        ),
        (
            "deuteranopia",
            [
                [0.367322, 0.860646, -0.227968],
                [0.280085, 0.672501, 0.047413],
                [-0.011820, 0.042940, 0.968881],
            ],
        ),
        (
            "tritanopia",
            [
                [1.255528, -0.076749, -0.178779],
                [-0.078411, 0.930809, 0.147602],
                [0.004733, 0.691367, 0.303900],
            ],
        ),
    ];

    fn seen(colour: Color32, matrix: &[[f64; 3]; 3]) -> [f64; 3] {
        let rgb = linear(colour);
        matrix.map(|row| row.iter().zip(rgb).map(|(m, v)| m * v).sum())
    }

    #[test]
    fn every_ink_reads_on_the_ground_and_on_the_paper_of_every_scheme() {
        for colours in ColourScheme::ALL {
            let palette = Theme {
                colours,
                ..Theme::default()
            }
            .palette();
            for role in INKS {
                for under in [palette.ground, palette.field] {
                    let ratio = contrast(palette.ink(role), under);
                    assert!(ratio >= 3.0, "{colours:?} {role:?}: {ratio:.2}");
                }
            }
            for under in [
                palette.ground,
                palette.field,
                palette.raised,
                palette.caution_ground,
            ] {
                assert!(contrast(palette.text, under) >= 7.0, "{colours:?}: text");
                assert!(
                    contrast(palette.faint, under) >= 4.5,
                    "{colours:?}: faint text {:.2}",
                    contrast(palette.faint, under)
                );
                assert!(
                    contrast(palette.caution, under) >= 4.5,
                    "{colours:?}: caution {:.2}",
                    contrast(palette.caution, under)
                );
            }
        }
    }

    #[test]
    fn words_read_on_every_tinted_area() {
        for colours in ColourScheme::ALL {
            let palette = Theme {
                colours,
                ..Theme::default()
            }
            .palette();
            for role in [
                Role::Power,
                Role::Exhaust,
                Role::Intake,
                Role::Compression,
                Role::Metal,
            ] {
                let ratio = contrast(palette.text, palette.area(role));
                assert!(ratio >= 4.5, "{colours:?} {role:?}: {ratio:.2}");
            }
        }
    }

    #[test]
    fn the_four_strokes_stay_apart_for_the_colour_blind() {
        // Lab distance 2.3 is just to be told apart side by side; apart at a glance wants several
        // times that.
        const AT_A_GLANCE: f64 = 15.0;
        for colours in ColourScheme::ALL {
            let palette = Theme {
                colours,
                ..Theme::default()
            }
            .palette();
            for (blindness, matrix) in &BLINDNESS {
                for (i, one) in Stroke::ALL.into_iter().enumerate() {
                    for other in Stroke::ALL.into_iter().skip(i + 1) {
                        let distance = apart(
                            seen(palette.ink(strokes::role(one)), matrix),
                            seen(palette.ink(strokes::role(other)), matrix),
                        );
                        assert!(
                            distance >= AT_A_GLANCE,
                            "{colours:?}, {blindness}: {one:?} and {other:?} {distance:.1} apart"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn in_a_hall_no_style_of_type_is_under_28_points() {
        let ctx = Context::default();
        let type_size = TypeSize::Hall;
        Theme {
            type_size,
            ..Theme::default()
        }
        .apply(&ctx);
        for (style, font) in &ctx.global_style().text_styles {
            assert!(font.size >= 28.0, "{style:?}: {}", font.size);
        }
    }

    #[test]
    fn a_theme_that_is_applied_is_the_one_the_panels_ask_for() {
        let ctx = Context::default();
        assert_eq!(Palette::of(&ctx), LIGHT);
        Theme {
            colours: ColourScheme::HighContrast,
            type_size: TypeSize::Room,
        }
        .apply(&ctx);
        assert_eq!(Palette::of(&ctx), HIGH_CONTRAST);
        assert_eq!(ctx.global_style().text_styles[&TextStyle::Body].size, 19.5);
    }
}
