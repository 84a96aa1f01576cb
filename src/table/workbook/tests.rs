//! Workbooks by two writers: openpyxl, whose files lie in `tests/tables` beside the script that makes them, and
//! rust_xlsxwriter, which writes them here.

use std::io::Write;

use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook};
use zip::write::SimpleFileOptions;

use super::super::workbook_bounds::LARGEST_UNPACKED;
use super::*;

fn which(sheet: Option<&str>, heading: u32) -> Which {
    Which { sheet: sheet.map(str::to_owned), heading, ..Which::default() }
}

fn table(bytes: Vec<u8>, sheet: Option<&str>, heading: u32) -> Result<Table, String> {
    read(Path::new("sites.xlsx"), bytes, &which(sheet, heading)).map_err(|problem| problem.to_string())
}

fn number(figures: &str, shown: Option<&str>) -> Cell {
    Cell::Number { figures: figures.into(), shown: shown.map(str::to_owned) }
}

fn text(text: &str) -> Cell {
    Cell::Text(text.into())
}

#[test]
fn cells_of_openpyxl() {
    let bytes = include_bytes!("../../../tests/tables/sound.xlsx").to_vec();
    let table = table(bytes, Some("Sites 2026"), 3).unwrap();
    assert_eq!(table.filled_rows().collect::<Vec<_>>(), [1, 2, 3]);
    let column = |row, heading: &str| table.cell(row, table.column(heading).unwrap()).clone();
    let codes = [1, 2, 3].map(|row| column(row, "Postcode"));
    assert_eq!(codes, [text("00417"), number("419", Some("00419")), number("98101", Some("98101"))]);
    assert_eq!([1, 3].map(|row| column(row, "Begins")), [Cell::Time(18, 0), text("21:30")]);
    assert_eq!([1, 2].map(|row| column(row, "Counters")), [number("180", None), number("25.5", None)]);
    let humidity = [1, 2, 3].map(|row| column(row, "Humidity"));
    assert_eq!(humidity, [number("0.45", Some("45 %")), number("0.07", Some("7 %")), text("45 %")]);
    assert_eq!(column(3, "Site"), text("=1+1 is a name"));
    assert_eq!(table.place(2, 3).path, "Sites 2026!D5");
}

#[test]
fn cells_of_another_writer() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("Sites").unwrap();
    for (column, heading) in ["Code", "Site", "Postcode", "Begins", "Open", "Sum", "Empty"].iter().enumerate() {
        sheet.write(0, column as u16, *heading).unwrap();
    }
    sheet.write(1, 0, "007").unwrap();
    sheet.write(1, 1, "Gull & <Point>").unwrap();
    sheet.write_with_format(1, 2, 417, &Format::new().set_num_format("00000")).unwrap();
    let six = ExcelDateTime::from_hms(6, 45, 0).unwrap();
    sheet.write_with_format(1, 3, &six, &Format::new().set_num_format("hh:mm")).unwrap();
    sheet.write(1, 4, true).unwrap();
    sheet.write(1, 5, Formula::new("=40+2").set_result("42")).unwrap();
    sheet.write_blank(1, 6, &Format::new().set_bold()).unwrap();
    sheet.merge_range(3, 0, 4, 1, "both", &Format::new()).unwrap();
    let table = table(book.save_to_buffer().unwrap(), None, 1).unwrap();
    let cells: Vec<Cell> = (0..7).map(|column| table.cell(1, column).clone()).collect();
    let expected = [
        text("007"),
        text("Gull & <Point>"),
        number("417", Some("00417")),
        Cell::Time(6, 45),
        Cell::Flag(true),
        number("42", None),
        Cell::Empty,
    ];
    assert_eq!(cells, expected);
    // the merged cells below the last row that holds anything are no site
    for (row, column) in [(3, 0), (3, 1)] {
        let Cell::Bad("cell-merged", reported, _) = table.cell(row, column) else {
            panic!("{:?}", table.cell(row, column))
        };
        assert_eq!(reported, "the cells A4 to B5 are merged");
    }
}

#[test]
fn a_sheet_is_named_where_there_are_several() {
    let mut book = Workbook::new();
    for name in ["North", "South"] {
        book.add_worksheet().set_name(name).unwrap().write(0, 0, "Code").unwrap();
    }
    let bytes = book.save_to_buffer().unwrap();
    for (sheet, heading, reported) in [
        (
            None,
            1,
            "error[sheet-unnamed]: the workbook has several sheets\n  --> sites.xlsx\n  = name one with `sheet`: North, South",
        ),
        (
            Some("Nort"),
            1,
            "error[sheet-missing]: the workbook has no sheet `Nort`\n  --> sites.xlsx\n  = did you mean `North`?",
        ),
        (Some("South"), 2, "error[table-empty]: there are no headings here\n  --> sites.xlsx  South!A2"),
    ] {
        let refused = table(bytes.clone(), sheet, heading).unwrap_err();
        assert!(refused.starts_with(reported), "{refused}");
    }
    assert!(table(bytes, Some("South"), 1).is_ok());
}

#[test]
fn a_cell_far_out_is_refused_before_room_is_made_for_it() {
    for (row, column) in [(1_048_575, 0), (0, 16_383)] {
        let mut book = Workbook::new();
        book.add_worksheet().write(row, column, "x").unwrap();
        let refused = table(book.save_to_buffer().unwrap(), None, 1).unwrap_err();
        assert!(refused.starts_with("error[table-too-large]"), "{refused}");
    }
}

#[test]
fn what_is_no_workbook_is_refused() {
    let whole = include_bytes!("../../../tests/tables/sound.xlsx").to_vec();
    let half = whole[..whole.len() / 2].to_vec();
    for bytes in [Vec::new(), b"Code,Site\n".to_vec(), half] {
        let refused = table(bytes, None, 1).unwrap_err();
        assert!(refused.starts_with("error[workbook-unreadable]"), "{refused}");
    }
}

#[test]
fn no_byte_changed_makes_it_panic() {
    let whole = include_bytes!("../../../tests/tables/sound.xlsx");
    for at in (0..whole.len()).step_by(3) {
        let mut bytes = whole.to_vec();
        bytes[at] ^= 0x55;
        // read or refused, either will do
        let _ = table(bytes, Some("Sites 2026"), 3);
    }
}

#[test]
fn a_small_file_that_unpacks_to_a_large_one_is_refused() {
    let mut packed = zip::ZipWriter::new(Cursor::new(Vec::new()));
    packed.start_file("xl/sharedStrings.xml", SimpleFileOptions::default()).unwrap();
    let block = vec![b' '; 1 << 20];
    for _ in 0..=(LARGEST_UNPACKED >> 20) {
        packed.write_all(&block).unwrap();
    }
    let bytes = packed.finish().unwrap().into_inner();
    assert!(bytes.len() < 1 << 20, "{} bytes", bytes.len());
    let refused = table(bytes, None, 1).unwrap_err();
    assert!(refused.starts_with("error[table-too-large]: the workbook unpacks to more than 64 MiB"), "{refused}");
}
