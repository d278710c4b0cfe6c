//! Pages as HTML: each page its own drawing, printed on paper of its own size.

use std::fmt::Write as _;

use super::svg::{self, Colours};
use crate::drawing::Drawing;

/// The pages, one under another on a screen and one a sheet on paper. No network is needed, nor
/// allowed.
pub fn document(title: &str, pages: &[Drawing]) -> String {
    let size = pages
        .first()
        .map_or(glam::DVec2::new(210.0, 297.0), |page| page.size);
    let mut out = String::new();
    let _ = write!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<link rel=\"icon\" href=\"data:,\">\n\
         <title>{}</title>\n<style>\n@page {{ size: {}mm {}mm; margin: 0 }}\nbody {{ margin: 0; background: #ddd }}\n\
         section {{ background: #fff; width: {}mm; max-width: 100%; margin: 4mm auto; box-shadow: 0 1px 4px #0006 }}\n\
         svg {{ display: block; max-width: 100%; height: auto }}\n\
         @media print {{ body {{ background: none }} \
         section {{ margin: 0; box-shadow: none; width: {}mm; max-width: none; height: {:.2}mm; overflow: hidden; break-after: page; \
         break-inside: avoid }} section:last-child {{ break-after: auto }} section > svg {{ width: {}mm; height: {}mm; max-width: none }} }}\n</style>\n</head>\n<body>\n\
         <svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\">{}</svg>\n",
        svg::escaped(title),
        size.x,
        size.y,
        size.x,
        size.x,
        // A hair less than the page: rounded up, it would begin another.
        size.y - 0.05,
        size.x,
        size.y,
        svg::hatches(Colours::Paper),
    );
    for page in pages {
        let _ = writeln!(
            out,
            "<section>{}</section>",
            svg::element(page, Colours::Paper)
        );
    }
    out.push_str("</body>\n</html>\n");
    out
}
