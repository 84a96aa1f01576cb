//! XLSX: one sheet of a workbook, values and formats as they are stored.

use std::collections::HashMap;
use std::io::Cursor;
use std::path::Path;

use calamine::{Data, DataRef, Dimensions, ExcelDateTime, Reader, Xlsx};
use jiff::ToSpan;
use jiff::civil::DateTime;

use super::{
    Cell, Form, MOST_CELLS, MOST_COLUMNS, MOST_ROWS, Problem, Table, Which, first_of, letters, refuse, text_cell,
    too_large, whole, workbook_bounds,
};
use crate::diagnostic::Diagnostic;
use crate::quantity::Number;
use crate::yaml::{alike, nearest};

type Book = Xlsx<Cursor<Vec<u8>>>;

pub(super) fn read(file: &Path, bytes: Vec<u8>, which: &Which) -> Result<Table, Problem> {
    let damaged = |e: &dyn std::fmt::Display| {
        let message = format!("this cannot be read as a workbook: {e}");
        refuse(
            file,
            "workbook-unreadable",
            message,
            "open it in a spreadsheet and save it again as XLSX, without a password",
        )
    };
    workbook_bounds::check(file, &bytes)?;
    let mut book: Book = Xlsx::new(Cursor::new(bytes)).map_err(|e| damaged(&e))?;
    let name = sheet_name(file, &book, which)?;
    let merged = book.merge_cells_by_sheet_name(&name).map_err(|e| damaged(&e))?;

    // which cells have a format of their own, and what the formats are; a format may be long, and cells are many
    let mut styled: HashMap<(u32, u32), u32> = HashMap::new();
    let mut formats: HashMap<u32, String> = HashMap::new();
    let mut reader = book.worksheet_cells_reader(&name).map_err(|e| damaged(&e))?;
    while let Some((row, column, style)) = reader.next_style_id().map_err(|e| damaged(&e))? {
        let found = reader.styles().get(style).and_then(|s| s.number_format.as_ref());
        let (Some(format), Ok(style)) = (found, u32::try_from(style)) else {
            continue;
        };
        if format.format_code == "General" {
            continue;
        }
        formats.entry(style).or_insert_with(|| format.format_code.clone());
        styled.insert((row, column), style);
        if styled.len() > MOST_CELLS {
            return Err(too_large(file, format!("more than {MOST_CELLS} cells with a format")));
        }
    }
    drop(reader);

    let heading = which.heading.saturating_sub(1);
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    let mut room = MOST_CELLS;
    let many = || too_large(file, format!("more than {MOST_CELLS} cells, or merged ranges over as many"));
    let mut reader = book.worksheet_cells_reader(&name).map_err(|e| damaged(&e))?;
    while let Some(cell) = reader.next_cell_with_formula_metadata().map_err(|e| damaged(&e))? {
        let (row, column) = cell.pos;
        if row < heading {
            continue;
        }
        let style = styled.get(&cell.pos).and_then(|style| formats.get(style));
        let format = style.map_or("General", String::as_str);
        let read = read_cell(cell.value, cell.formula.is_some(), format);
        if read == Cell::Empty {
            continue;
        }
        let (row, column) = ((row - heading) as usize, column as usize);
        if row >= MOST_ROWS || column >= MOST_COLUMNS {
            return Err(too_large(file, format!("more than {MOST_ROWS} rows or {MOST_COLUMNS} columns")));
        }
        room = put(&mut rows, row, column, read, room).ok_or_else(many)?;
    }
    for range in merged.iter().filter(|range| range.end.0 >= heading) {
        room = mark_merged(&mut rows, range, heading, room).ok_or_else(many)?;
    }
    if rows.first().is_none_or(Vec::is_empty) {
        let problem = Diagnostic::error("table-empty", "there are no headings here");
        let mut place = whole(file);
        place.path = format!("{name}!A{}", heading + 1);
        return Err(Box::new(problem.at(place).hint("`header` says which row holds them; the first by default")));
    }
    Ok(Table { file: file.to_owned(), form: Form::Sheet { name, heading }, rows, digest: [0; 32] })
}

/// Puts a cell in its place. `room` is how many cells there may still be, empty ones before it included; it gives what is left of it,
/// or `None` if there is not enough.
fn put(rows: &mut Vec<Vec<Cell>>, row: usize, column: usize, cell: Cell, room: usize) -> Option<usize> {
    if rows.len() <= row {
        rows.resize(row + 1, Vec::new());
    }
    let cells = rows.get_mut(row)?;
    let more = (column + 1).saturating_sub(cells.len());
    let room = room.checked_sub(more)?;
    if more > 0 {
        cells.resize(column + 1, Cell::Empty);
    }
    *cells.get_mut(column)? = cell;
    Some(room)
}

/// A merged range holds one value where there are several cells: whose it is cannot be known. Each cell of it takes of `room`, which
/// bounds what ranges upon ranges cost.
fn mark_merged(rows: &mut Vec<Vec<Cell>>, range: &Dimensions, heading: u32, mut room: usize) -> Option<usize> {
    let name = |(row, column): (u32, u32)| format!("{}{}", letters(column as usize), row + 1);
    let reported = format!("the cells {} to {} are merged", name(range.start), name(range.end));
    // below the last row with anything in it a merged range is decoration, and so it is beside the last column
    let last = (range.end.0 - heading).min(u32::try_from(rows.len().saturating_sub(1)).unwrap_or(u32::MAX));
    let widest = rows.iter().map(Vec::len).max().unwrap_or(0).saturating_sub(1).max(range.start.1 as usize);
    let most = u32::try_from(widest.min(MOST_COLUMNS - 1)).unwrap_or(u32::MAX);
    for row in range.start.0.saturating_sub(heading)..=last {
        for column in range.start.1..=range.end.1.min(most) {
            let bad = Cell::Bad("cell-merged", reported.clone(), "unmerge them, and fill in each cell");
            room = put(rows, row as usize, column as usize, bad, room.checked_sub(1)?)?;
        }
    }
    Some(room)
}

fn sheet_name(file: &Path, book: &Book, which: &Which) -> Result<String, Problem> {
    let names = book.sheet_names();
    let known: Vec<&str> = names.iter().map(String::as_str).collect();
    // a space at the end of a sheet's name cannot be seen
    let found = which.sheet.as_ref().and_then(|wanted| alike(wanted, known.iter().copied()));
    if let Some(found) = found {
        return Ok(found.to_owned());
    }
    match (&which.sheet, known.as_slice()) {
        (Some(wanted), _) => {
            let hint = match nearest(wanted, &known) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("sheets there: {}", first_of(&known)),
            };
            Err(refuse(file, "sheet-missing", format!("the workbook has no sheet `{wanted}`"), &hint))
        }
        (None, [only]) => Ok((*only).to_owned()),
        (None, several) if which.log => {
            let found = several.iter().find(|name| name.eq_ignore_ascii_case("log"));
            found.map(|name| (*name).to_owned()).ok_or_else(|| {
                let hint = format!("call the one that holds the log `log`; there are: {}", first_of(&known));
                refuse(file, "sheet-unnamed", "the workbook has several sheets", &hint)
            })
        }
        (None, _) => {
            let hint = format!("name one with `sheet`: {}", first_of(&known));
            Err(refuse(file, "sheet-unnamed", "the workbook has several sheets", &hint))
        }
    }
}

fn read_cell(value: DataRef<'_>, formula: bool, format: &str) -> Cell {
    match Data::from(value) {
        Data::Empty if formula => Cell::Bad(
            "formula-without-value",
            "this formula has no value stored with it".into(),
            "open the workbook in a spreadsheet and save it there, or put the value in the formula's place",
        ),
        Data::Empty => Cell::Empty,
        Data::String(text) => text_cell(&text),
        Data::Bool(yes) => Cell::Flag(yes),
        Data::Int(number) => number_cell(&number.to_string(), format),
        // the shortest figures that are this number and no other, without an exponent
        Data::Float(number) if number.to_string().len() <= 40 && number.is_finite() => {
            number_cell(&number.to_string(), format)
        }
        Data::Float(_) => {
            let message = "this number is beyond any that a site has".into();
            Cell::Bad("cell-number-beyond", message, "fill it in anew")
        }
        Data::DateTime(moment) => time_cell(&moment, format),
        Data::DateTimeIso(text) | Data::DurationIso(text) => text_cell(&text),
        Data::Error(error) => Cell::Bad(
            "cell-error",
            format!("this cell holds the error {error}"),
            "mend the formula, or put the value in its place",
        ),
    }
}

/// A number with what its format makes of it, where that is a text of its own.
fn number_cell(figures: &str, format: &str) -> Cell {
    let zeros = !format.is_empty() && format.len() <= 20 && format.bytes().all(|b| b == b'0');
    let whole = figures.bytes().all(|b| b.is_ascii_digit());
    let percent = format.trim_end_matches('%').len() + 1 == format.len();
    let shown = if format == "@" {
        Some(figures.to_owned())
    } else if zeros && format.len() > 1 && whole {
        Some(format!("{figures:0>width$}", width = format.len()))
    } else if percent {
        let share = Number::parse(figures).map(|share| &share * &Number::int(100));
        share.map(|share| format!("{} %", share.decimal(6)))
    } else {
        None
    };
    Cell::Number { figures: figures.to_owned(), shown }
}

/// A spreadsheet holds a moment as days, and a time of day as the part of a day that is over. A date whose format shows no hours
/// has no time.
fn time_cell(moment: &ExcelDateTime, format: &str) -> Cell {
    let (year, month, day, hour, minute, second, milli) = moment.to_ymd_hms_milli();
    // all of them are below what their type holds
    let small = |part: u8| i8::try_from(part).unwrap_or(0);
    let is_time_alone = (0.0..1.0).contains(&moment.as_f64());
    if is_time_alone && (second, milli) == (0, 0) {
        return Cell::Time(small(hour), small(minute));
    }
    let year = i16::try_from(year).unwrap_or(0);
    let read = DateTime::new(year, small(month), small(day), small(hour), small(minute), small(second), 0)
        .and_then(|read| read.checked_add(i64::from(milli >= 500).seconds()));
    match read {
        Ok(read) if is_time_alone => Cell::Moment(read.time().to_string()),
        Ok(read) if !format.to_ascii_lowercase().contains('h') => Cell::Date(read.date()),
        Ok(read) => Cell::Moment(read.to_string()),
        Err(_) => {
            let message = "this date is beyond any that a visit has".into();
            Cell::Bad("cell-number-beyond", message, "format the cell as text and write it anew")
        }
    }
}

#[cfg(test)]
mod tests;
