// Writes FOLDER/list.xlsx and FOLDER/list-1904.xlsx with exceljs, and on standard output the rows that a reader must find,
// cells between tabs. For tests/text/outside.cpp.
import { join } from 'node:path';
import ExcelJS from 'exceljs';

const rows = [
  ['Part no', 'Description', 'Qty', 'Due', 'Note'],
  ['K-1', 'door panel, left', 2, new Date(Date.UTC(1996, 2, 4)), '<&>"\' and a quote'],
  ['007', { richText: [{ text: 'trim ' }, { font: { bold: true }, text: 'clip' }] }, 1.37, new Date(Date.UTC(2024, 1, 29)), 'caf\u00e9 \u5ea7 \u{1f697}'],
  ['K-3', 'seal', { formula: 'C2*3', result: 6 }, new Date(Date.UTC(1971, 11, 31, 12, 30)), true],
  ['K-4', { text: 'a link', hyperlink: 'https://example.invalid/' }, 12345678901, null, -0.5],
  ['K-5', 'same text', 0.1 + 0.2, new Date(Date.UTC(1910, 0, 1)), 'same text'],
];
const found = [
  ['Part no', 'Description', 'Qty', 'Due', 'Note'],
  ['K-1', 'door panel, left', '2', '1996-03-04', '<&>"\' and a quote'],
  ['007', 'trim clip', '1.37', '2024-02-29', 'caf\u00e9 \u5ea7 \u{1f697}'],
  ['K-3', 'seal', '6', '1971-12-31 12:30', 'TRUE'],
  ['K-4', 'a link', '12345678901', '', '-0.5'],
  ['K-5', 'same text', '0.3', '1910-01-01', 'same text'],
];

async function write(path, date1904) {
  const workbook = new ExcelJS.Workbook();
  workbook.properties.date1904 = date1904;
  workbook.views = [{ activeTab: 1 }]; // LibreOffice shows a hidden sheet that is the active one
  workbook.addWorksheet('Old', { state: 'hidden' }).addRow(['not', 'to', 'be', 'read']);
  const sheet = workbook.addWorksheet('List');
  for (const row of rows) sheet.addRow(row);
  await workbook.xlsx.writeFile(path);
}

await write(join(process.argv[2], 'list.xlsx'), false);
await write(join(process.argv[2], 'list-1904.xlsx'), true);
process.stdout.write(found.map((row) => row.join('\t')).join('\n') + '\n');
