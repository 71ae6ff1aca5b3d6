// Workbooks for hostile.mjs, made byte by byte after the ZIP application note (APPNOTE 6.3.3, sections 4.3.7, 4.3.12 and
// 4.3.16; from memory) and ECMA-376, so that sizes can lie and names can point outside.
import { deflateRawSync, crc32 as builtIn } from 'node:zlib';

function crc32(bytes) {
  if (builtIn) return builtIn(bytes);
  let sum = ~0;
  for (const byte of bytes) {
    sum ^= byte;
    for (let bit = 0; bit < 8; bit += 1) sum = (sum >>> 1) ^ (sum & 1 ? 0xedb88320 : 0);
  }
  return ~sum >>> 0;
}

// entries: {name, bytes, packed?, stored?, flags?, method?, claims?, crc?}
function archive(entries, { comment = '', count } = {}) {
  const parts = [];
  const directory = [];
  let at = 0;
  for (const entry of entries) {
    const name = Buffer.from(entry.name);
    const bytes = Buffer.from(entry.bytes ?? '');
    const body = entry.packed ?? (entry.stored ? bytes : deflateRawSync(bytes));
    const fields = Buffer.alloc(26);
    fields.writeUInt16LE(20, 0);
    fields.writeUInt16LE(entry.flags ?? 0, 2);
    fields.writeUInt16LE(entry.method ?? (entry.stored ? 0 : 8), 4);
    fields.writeUInt16LE(0x21, 8);
    fields.writeUInt32LE(entry.crc ?? crc32(bytes), 10);
    fields.writeUInt32LE(entry.claimsPacked ?? body.length, 14);
    fields.writeUInt32LE(entry.claims ?? bytes.length, 18);
    fields.writeUInt16LE(name.length, 22);
    const local = Buffer.concat([Buffer.from('PK\x03\x04'), fields, name, body]);
    const tail = Buffer.alloc(14);
    tail.writeUInt32LE(entry.at ?? at, 10);
    directory.push(Buffer.concat([Buffer.from('PK\x01\x02'), Buffer.from([20, 0]), fields, tail, name]));
    parts.push(local);
    at += local.length;
  }
  const central = Buffer.concat(directory);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(count ?? entries.length, 4);
  end.writeUInt16LE(count ?? entries.length, 6);
  end.writeUInt32LE(central.length, 8);
  end.writeUInt32LE(at, 12);
  end.writeUInt16LE(comment.length, 16);
  return Buffer.concat([...parts, central, Buffer.from('PK\x05\x06'), end, Buffer.from(comment)]);
}

const text = (place, value) => `<c r="${place}" t="inlineStr"><is><t>${value}</t></is></c>`;
const headRow = `<row r="1">${text('A1', 'part number')}${text('B1', 'quantity')}</row>`;
const goodRows = `<row r="2">${text('A2', 'K-17')}<c r="B2"><v>3</v></c></row><row r="3">${text('A3', 'K-18')}<c r="B3"><v>2</v></c></row>`;
const sheetOf = (rows, after = '', before = '') => `<?xml version="1.0"?>${before}<worksheet xmlns="m"><sheetData>${headRow}${rows}</sheetData>${after}</worksheet>`;

function parts(change = {}) {
  const all = {
    '[Content_Types].xml': '<Types xmlns="c"/>',
    '_rels/.rels': '<Relationships xmlns="p"><Relationship Id="a" Type="t/officeDocument" Target="xl/workbook.xml"/></Relationships>',
    'xl/workbook.xml': '<workbook xmlns="m" xmlns:r="r"><sheets><sheet name="List" sheetId="1" r:id="one"/></sheets></workbook>',
    'xl/_rels/workbook.xml.rels': '<Relationships xmlns="p"><Relationship Id="one" Type="t/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="s" Type="t/sharedStrings" Target="sharedStrings.xml"/><Relationship Id="y" Type="t/styles" Target="styles.xml"/></Relationships>',
    'xl/worksheets/sheet1.xml': sheetOf(goodRows),
    ...change,
  };
  return Object.entries(all).filter(([, bytes]) => bytes !== null).map(([name, bytes]) => ({ name, bytes }));
}
const workbook = (change, options) => archive(parts(change), options);
const withSheet = (rows, after, before) => workbook({ 'xl/worksheets/sheet1.xml': sheetOf(rows, after, before) });
const and = (entry) => archive([...parts(), entry]);

function* names() {
  for (const name of ['../evil', '../../../../tmp/evil', '/etc/passwd', 'C:\\evil', 'c:/evil', '..\\evil', 'xl/../../evil', 'xl/..', '..', '', '/', '\\\\host\\evil',
    'xl/\x1b[2Jevil', 'a\nb', 'xl/worksheets/sheet1.xml', 'xl\\worksheets\\sheet1.xml', '_rels/.rels', 'a\tb', '\u202evil/../x', './../x']) {
    yield { name: `a part named ${JSON.stringify(name)}`, bytes: and({ name, bytes: 'x' }), // The library reads control characters as the signs of code page 437, which do no harm.
      refused: name !== '\u202evil' && name !== 'xl/\x1b[2Jevil' };
  }
  for (const target of ['../../../../etc/passwd', '/etc/passwd', 'file:///etc/passwd', 'http://example.invalid/x', '../../..', '', 'worksheets', '%2e%2e/evil']) {
    const rels = `<Relationships xmlns="p"><Relationship Id="one" Type="t/worksheet" Target="${target}"/></Relationships>`;
    yield { name: `a sheet at ${JSON.stringify(target)}`, bytes: workbook({ 'xl/_rels/workbook.xml.rels': rels }), refused: true };
  }
  yield { name: 'a sheet outside the archive', bytes: workbook({ 'xl/_rels/workbook.xml.rels': '<Relationships xmlns="p"><Relationship Id="one" TargetMode="External" Type="t/worksheet" Target="http://example.invalid/x"/></Relationships>' }), refused: true };
}

function* bombs() {
  const refused = true;
  const zeros = (size) => Buffer.alloc(size, 0x20);
  const packed = (head, size, tail) => Buffer.concat([Buffer.from(head), zeros(size), Buffer.from(tail)]);
  const head = `<worksheet xmlns="m"><sheetData>${headRow}`;
  const tail = '</sheetData></worksheet>';
  yield { name: 'packed 1,000 to 1', bytes: workbook({ 'xl/worksheets/sheet1.xml': packed(head, 20_000_000, tail) }), refused };
  yield { name: 'unpacks to 300 MB', bytes: workbook({ 'xl/worksheets/sheet1.xml': packed(head, 300_000_000, tail) }), refused };
  // The same bomb, with a directory that claims it is small.
  const bomb = packed(head, 100_000_000, tail);
  for (const claims of [10, 1_000, 999_999]) {
    yield { name: `claims to unpack to ${claims}`, bytes: archive(parts({ 'xl/worksheets/sheet1.xml': null }).concat({ name: 'xl/worksheets/sheet1.xml', bytes: bomb, claims })), refused };
  }
  yield { name: 'claims to unpack to 4 GB', bytes: and({ name: 'x', bytes: 'y', claims: 0xfffffff0 }), refused };
  yield { name: 'claims to be packed in 4 GB', bytes: and({ name: 'x', bytes: 'y', claimsPacked: 0xfffffff0 }), refused };
  yield { name: 'twenty parts of 20 MB', bytes: archive(parts().concat(Array.from({ length: 20 }, (_, index) => ({ name: `xl/media/${index}`, bytes: zeros(20_000_000) })))), refused };
  yield { name: '10,000 parts', bytes: archive(parts().concat(Array.from({ length: 10_000 }, (_, index) => ({ name: `x/${index}`, bytes: '', stored: true })))), refused };
  yield { name: 'parts that share their bytes', bytes: archive(parts().concat(Array.from({ length: 100 }, (_, index) => ({ name: `x/${index}`, bytes: 'y', at: 0 })))) };
  const laughs = `<!DOCTYPE l [<!ENTITY a "aaaaaaaaaa">${Array.from({ length: 9 }, (_, index) => `<!ENTITY ${'bcdefghij'[index]} "${`&${'abcdefghi'[index]};`.repeat(10)}">`).join('')}]>`;
  const quadratic = `<!DOCTYPE l [<!ENTITY a "${'a'.repeat(50_000)}">]>`;
  const outside = '<!DOCTYPE l [<!ENTITY a SYSTEM "file:///etc/passwd">]>';
  const parameter = '<!DOCTYPE l [<!ENTITY % a SYSTEM "http://example.invalid/x"> %a;]>';
  for (const [what, type, use] of [['a billion laughs', laughs, '&j;'], ['quadratic entities', quadratic, '&a;'.repeat(2_000)], ['an entity from outside', outside, '&a;'], ['a parameter entity', parameter, 'x']]) {
    yield { name: `${what} in the sheet`, bytes: withSheet(`<row r="2">${text('A2', use)}</row>`, '', type), refused };
    yield { name: `${what} in the shared strings`, bytes: workbook({ 'xl/sharedStrings.xml': `<?xml version="1.0"?>${type}<sst xmlns="m"><si><t>${use}</t></si></sst>` }), refused };
    yield { name: `${what} in the workbook`, bytes: workbook({ 'xl/workbook.xml': `<?xml version="1.0"?>${type}<workbook xmlns="m" xmlns:r="r"><sheets><sheet name="${use.slice(0, 3)}" r:id="one"/></sheets></workbook>` }), refused };
    yield { name: `${what} in the links`, bytes: workbook({ '_rels/.rels': `<?xml version="1.0"?>${type}<Relationships xmlns="p"/>` }), refused };
    yield { name: `${what} in the styles`, bytes: workbook({ 'xl/styles.xml': `<?xml version="1.0"?>${type}<styleSheet xmlns="m"/>` }), refused };
  }
}

function* broken(random) {
  const good = workbook();
  const refused = true;
  for (let step = 1; step < 40; step += 1) yield { name: `a workbook cut off at ${step} of 40`, bytes: good.subarray(0, Math.floor(good.length * step / 40)), ending: '.xlsx', refused };
  for (let round = 0; round < 120; round += 1) {
    const bytes = Buffer.from(good);
    for (let hit = 0; hit < 1 + random(4); hit += 1) bytes[random(bytes.length)] ^= 1 << random(8);
    yield { name: `a workbook with bits turned ${round}`, bytes, ending: '.xlsx' };
  }
  for (const missing of Object.keys(Object.fromEntries(parts().map((part) => [part.name, 1])))) {
    const needed = !['[Content_Types].xml', '_rels/.rels'].includes(missing);
    yield { name: `a workbook without ${missing}`, bytes: workbook({ [missing]: null }), ...(needed ? { refused } : { rows: 3, used: 2 }) };
  }
  yield { name: 'a workbook with a password', bytes: archive(parts().map((part) => ({ ...part, flags: 1 }))), refused };
  yield { name: 'another way of packing', bytes: archive(parts().map((part) => ({ ...part, method: 97 }))), refused };
  yield { name: 'a wrong checksum', bytes: archive(parts().map((part) => ({ ...part, crc: 1 }))), refused };
  yield { name: 'junk in place of packed bytes', bytes: archive(parts().map((part) => ({ ...part, packed: Buffer.from('junk') }))), refused };
  yield { name: 'a directory that counts too few', bytes: workbook({}, { count: 1 }) };
  yield { name: 'a directory that counts too many', bytes: workbook({}, { count: 500 }), refused };
  yield { name: 'a long comment', bytes: workbook({}, { comment: 'x'.repeat(60_000) }), rows: 3, used: 2 };
  yield { name: 'another archive', bytes: archive([{ name: 'mimetype', bytes: 'application/x' }, { name: 'content.xml', bytes: '<a/>' }]), refused };
  yield { name: 'an empty archive', bytes: archive([]), refused };
}

function* sheets() {
  const refused = true;
  const row = (number, cells) => `<row r="${number}">${cells}</row>`;
  yield { name: 'a plain workbook', bytes: withSheet(goodRows), rows: 3, used: 2, ending: '.xlsx' };
  yield { name: 'rows out of order', bytes: withSheet(row(3, text('A3', 'K-17')) + row(2, text('A2', 'K-18'))), refused };
  yield { name: 'cells out of order', bytes: withSheet(row(2, '<c r="B2"><v>1</v></c>' + text('A2', 'K-17'))), refused };
  yield { name: 'a row past the last', bytes: withSheet(row(1_048_577, text('A1048577', 'K-17'))), refused };
  yield { name: 'the last row', bytes: withSheet(row(1_048_576, text('A1048576', 'K-17') + '<c r="B1048576"><v>1</v></c>')), rows: 2, used: 1 };
  yield { name: 'the last column', bytes: withSheet(row(2, text('XFD2', 'K-17'))), refused };
  yield { name: 'a column past the last', bytes: withSheet(row(2, text('XFE2', 'K-17'))), refused };
  yield { name: 'a row number of letters', bytes: withSheet('<row r="x">' + text('A2', 'K-17') + '</row>'), refused };
  yield { name: 'a row number below zero', bytes: withSheet('<row r="-5"/>'), refused };
  yield { name: 'a text that is not there', bytes: withSheet(row(2, '<c r="A2" t="s"><v>7</v></c>')), refused };
  yield { name: 'a text of number -1', bytes: withSheet(row(2, '<c r="A2" t="s"><v>-1</v></c>')), refused };
  yield { name: 'a style that is not there', bytes: withSheet(row(2, '<c r="A2" s="99999999999"><v>17</v></c>')) };
  yield { name: 'merged over everything', bytes: withSheet(goodRows, '<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>') };
  yield { name: 'merged backwards', bytes: withSheet(goodRows, '<mergeCells><mergeCell ref="B2:A1"/></mergeCells>'), refused };
  yield { name: '20,001 merged cells', bytes: withSheet(goodRows, `<mergeCells>${Array.from({ length: 20_001 }, (_, index) => `<mergeCell ref="A${index + 1}:B${index + 1}"/>`).join('')}</mergeCells>`), refused };
  yield { name: 'tall merged cells', bytes: withSheet(goodRows, `<mergeCells>${Array.from({ length: 19_000 }, () => '<mergeCell ref="A2:A900"/>').join('')}</mergeCells>`) };
  yield { name: 'nested 100,000 deep', bytes: withSheet('<x>'.repeat(100_000)), refused };
  yield { name: 'bytes that are no UTF-8', bytes: workbook({ 'xl/worksheets/sheet1.xml': Buffer.from(sheetOf(row(2, text('A2', 'K\u00ff17'))), 'latin1') }), refused };
  yield { name: 'a sheet in UTF-16', bytes: workbook({ 'xl/worksheets/sheet1.xml': Buffer.from('\ufeff' + sheetOf(goodRows).replace('version="1.0"', 'version="1.0" encoding="UTF-16"'), 'utf16le') }), rows: 3, used: 2 };
  for (const reference of ['&#0;', '&#xD800;', '&#xFFFF;', '&#x110000;', '&nothing;']) yield { name: `the character ${reference}`, bytes: withSheet(row(2, text('A2', `K${reference}17`))), refused };
  yield { name: 'escapes of control characters', bytes: withSheet(row(2, text('A2', 'K_x001B_[2J_x0000__xD800_-17') + '<c r="B2"><v>1</v></c>')), rows: 2 };
  yield { name: 'a cell of 1 MB', bytes: withSheet(row(2, text('A2', Array.from({ length: 200_000 }, (_, index) => index % 97).join('-')))), refused };
  yield { name: 'formulas without values', bytes: withSheet(row(2, '<c r="A2"><f>1+1</f></c><c r="B2"><f>A2</f></c>')) };
  yield { name: 'numbers beyond all bounds', bytes: withSheet(['1e400', '-1e400', 'NaN', 'INF', '0x10', '', '1e-400', '9'.repeat(400)].map((value, index) => row(index + 2, text(`A${index + 2}`, 'K-17') + `<c r="B${index + 2}"><v>${value}</v></c>`)).join('')), rows: 9, used: 8 };
  yield { name: 'days beyond all bounds', bytes: workbook({ 'xl/styles.xml': '<styleSheet xmlns="m"><cellXfs><xf numFmtId="14"/></cellXfs></styleSheet>', 'xl/worksheets/sheet1.xml': sheetOf(['-1', '1e300', '2958466', '60', '0'].map((value, index) => row(index + 2, text(`A${index + 2}`, 'K-17') + `<c r="B${index + 2}" s="0"><v>${value}</v></c>`)).join('')) }), rows: 6, used: 5 };
  yield { name: '501 sheets', bytes: workbook({ 'xl/workbook.xml': `<workbook xmlns="m" xmlns:r="r"><sheets>${Array.from({ length: 501 }, (_, index) => `<sheet name="${index}" r:id="one"/>`).join('')}</sheets></workbook>` }), refused };
  yield { name: '500 sheets sharing one part', bytes: workbook({ 'xl/workbook.xml': `<workbook xmlns="m" xmlns:r="r"><sheets>${Array.from({ length: 500 }, (_, index) => `<sheet name="${index}" r:id="one"/>`).join('')}</sheets></workbook>` }), rows: 3, used: 2 };
  yield { name: 'no sheets', bytes: workbook({ 'xl/workbook.xml': '<workbook xmlns="m"><sheets/></workbook>' }), refused };
  yield { name: 'hidden sheets alone', bytes: workbook({ 'xl/workbook.xml': '<workbook xmlns="m" xmlns:r="r"><sheets><sheet name="List" state="hidden" r:id="one"/></sheets></workbook>' }), refused };
  yield { name: 'a sheet name that moves the cursor', bytes: workbook({ 'xl/workbook.xml': '<workbook xmlns="m" xmlns:r="r"><sheets><sheet name="&#x9b;2J&#x202e;" r:id="one"/></sheets></workbook>' }), rows: 3, used: 2 };
  yield { name: '250,001 rows', bytes: withSheet(Array.from({ length: 250_001 }, (_, index) => `<row><c><v>${index}</v></c></row>`).join('')), refused };
}

export function* workbookFiles(random) {
  yield* names();
  yield* bombs();
  yield* broken(random);
  yield* sheets();
}
