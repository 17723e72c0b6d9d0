//! Sheets filled with stickers, and the test page.

use super::fit::fit;
use super::sheet::Sheet;
use super::sticker::{NoRoom, Sticker};
use super::svg::{Fill, Lettering, ORDINARY, OWN, Svg};
use std::fmt::Write;

/// The length of the lines on the test page, in millimetres.
const RULER_MM: f64 = 100.0;

/// The pages of stickers, as SVG; the first places of the first page are left free.
///
/// # Errors
/// When one has no room for its code.
pub fn filled(
    sheet: &Sheet,
    title: &str,
    skip: usize,
    stickers: &[Sticker<'_>],
) -> Result<Vec<String>, NoRoom> {
    let mut pages = Vec::new();
    let mut rest = stickers;
    let mut free = skip.min(sheet.places() - 1);
    while !rest.is_empty() {
        let (now, later) = rest.split_at(rest.len().min(sheet.places() - free));
        let mut page = empty(sheet, title);
        for (at, sticker) in (free..).zip(now) {
            outline(&mut page, sheet, at, sheet.outline);
            sticker.draw(&mut page, sheet.place(at))?;
        }
        pages.push(page.finish());
        (rest, free) = (later, 0);
    }
    Ok(pages)
}

/// How many places of the last page are used.
pub fn used_of_last(sheet: &Sheet, skip: usize, stickers: usize) -> usize {
    (skip + stickers) % sheet.places()
}

/// A page that shows whether the printer prints at true size, and where the labels lie.
pub fn test_page(sheet: &Sheet) -> String {
    let mut page = empty(sheet, "Test page");
    for at in 0..sheet.places() {
        outline(&mut page, sheet, at, true);
        let place = sheet.place(at);
        let number = fit(&(at + 1).to_string(), place.width / 2.0, 3.0, 1.0);
        page.text(place.x + 1.0, place.y + 3.6, &number, ORDINARY);
    }
    let (width, height) = sheet.paper_mm;
    let (x, y) = ((width - RULER_MM).max(0.0) / 2.0, height / 2.0);
    let long = RULER_MM.min(width).min(height / 2.0 - 10.0).max(10.0);
    let long = (long / 10.0).floor() * 10.0;
    page.rule(x, x + long, y);
    page.upright(x, y, y + long);
    for tick in 0..=(long / 10.0) as u32 {
        let at = f64::from(tick) * 10.0;
        page.upright(x + at, y - 2.0, y);
        page.rule(x - 2.0, x, y + at);
    }
    let say = |page: &mut Svg, y: f64, text: &str| {
        page.text(x + 3.0, y, &fit(text, long, 3.2, 1.4), Lettering { bold: true, ..ORDINARY });
    };
    say(
        &mut page,
        y + 5.0,
        &format!("Both lines are {long} mm long where this is printed at true size."),
    );
    say(&mut page, y + 10.0, "If not: print at 100 %, not made to fit the page.");
    say(&mut page, y + 15.0, &sheet.title);
    page.finish()
}

fn empty(sheet: &Sheet, title: &str) -> Svg {
    Svg::new(sheet.paper_mm.0, sheet.paper_mm.1, title)
}

fn outline(page: &mut Svg, sheet: &Sheet, at: usize, is_drawn: bool) {
    if is_drawn {
        page.area(sheet.place(at), Fill::White, 0.1, 0.0);
    }
}

/// All pages in one file that a browser prints at true size.
pub fn as_html(sheet: &Sheet, title: &str, pages: &[String]) -> String {
    let (width, height) = sheet.paper_mm;
    let title = title.replace('&', "&amp;").replace('<', "&lt;");
    let mut text = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<!-- {OWN} -->\n\
         <title>{title}</title>\n<style>\n@page {{ size: {width}mm {height}mm; margin: 0 }}\n\
         body {{ margin: 0 }}\nsvg {{ display: block; break-after: page }}\n</style>\n</head>\n<body>\n"
    );
    for page in pages {
        // The declaration of an XML file has no place within.
        let drawing = page.split_once('\n').map_or(page.as_str(), |(_, drawing)| drawing);
        // Writing to a string cannot fail.
        let _ = text.write_str(drawing);
    }
    text + "</body>\n</html>\n"
}
