//! Written pages put together into one PDF file: its two faces, their letters, its table of pages.
//!
//! It lays nothing out.

use pdf_writer::types::PageMode;
use pdf_writer::{Content, Filter, Finish as _, Name, Pdf, Rect, Ref, TextStr};

use super::letters::Letters;

pub(super) const FACE: Name<'static> = Name(b"F1");
pub(super) const FACE_BOLD: Name<'static> = Name(b"F2");
/// Small enough for an SD card, quick enough for a Pi.
const SQUEEZE: u8 = 6;

/// Puts the pages together into a file.
pub(super) fn bound(
    letters: Letters,
    pages: Vec<Content>,
    (wide, high): (f32, f32),
    title: &str,
) -> Vec<u8> {
    let mut next = Ref::new(1);
    let (catalog, tree, plain, bold, about) =
        (next.bump(), next.bump(), next.bump(), next.bump(), next.bump());
    let refs: Vec<(Ref, Ref)> = pages.iter().map(|_| (next.bump(), next.bump())).collect();
    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(tree).page_mode(PageMode::UseNone).lang(TextStr("en"));
    pdf.document_info(about).title(TextStr(title)).producer(TextStr("Lowbell"));
    pdf.pages(tree)
        .kids(refs.iter().map(|(page, _)| *page))
        .count(i32::try_from(refs.len()).unwrap_or(i32::MAX));
    for (content, (page, stream)) in pages.into_iter().zip(&refs) {
        let mut one = pdf.page(*page);
        one.media_box(Rect::new(0.0, 0.0, wide, high)).parent(tree).contents(*stream);
        let mut resources = one.resources();
        resources.fonts().pair(FACE, plain).pair(FACE_BOLD, bold);
        resources.finish();
        one.finish();
        let raw = content.finish();
        let squeezed = miniz_oxide::deflate::compress_to_vec_zlib(&raw, SQUEEZE);
        pdf.stream(*stream, &squeezed).filter(Filter::FlateDecode);
    }
    for (id, base, is_bold) in
        [(plain, &b"Helvetica"[..], false), (bold, &b"Helvetica-Bold"[..], true)]
    {
        let (first, last, widths) = letters.widths(is_bold);
        let mut font = pdf.type1_font(id);
        font.base_font(Name(base)).first_char(first).last_char(last);
        font.widths(widths.into_iter().map(f32::from));
        let mut encoding = font.encoding_custom();
        encoding.base_encoding(Name(b"WinAnsiEncoding"));
        let mut differences = encoding.differences();
        // In WinAnsi these two plain codes are curved marks' neighbours, not the marks themselves.
        differences.consecutive(b'\'', [Name(b"quotesingle")]);
        differences.consecutive(b'`', [Name(b"grave")]);
        let names: Vec<Name<'_>> = letters.names().map(|name| Name(name.as_bytes())).collect();
        if !names.is_empty() {
            differences.consecutive(Letters::first_code(), names);
        }
    }
    pdf.finish()
}
