// Text for hostile.mjs: dialects and encodings that must be read to the last row, and damage that must not be fatal.
// Each: {name, bytes, ending?, rows?, used?, refused?}. With `rows` it must be read and every row accounted for.

const header = ['part number', 'description', 'quantity', 'note'];

function table(random, count) {
  const rows = [header];
  const notes = ['', 'left over', 'see page 4', 'for the rear', 'grey'];
  for (let row = 0; row < count; row += 1) {
    rows.push([random(2) === 0 ? 'K-17' : 'k 18', random(2) === 0 ? 'panel clip' : 'bulb for the lamp', String(1 + random(40)), notes[random(notes.length)]]);
  }
  return rows;
}

const encodings = {
  'utf-8': (text) => Buffer.from(text, 'utf8'),
  'utf-8 with a mark': (text) => Buffer.from('\ufeff' + text, 'utf8'),
  'utf-16 little end first': (text) => Buffer.from('\ufeff' + text, 'utf16le'),
  'utf-16 big end first': (text) => Buffer.from('\ufeff' + text, 'utf16le').swap16(),
  'windows-1252': (text) => Buffer.from(text.replace('lamp', 'l\u00e4mp'), 'latin1'),
};

function* dialects(random) {
  for (const [encoding, encode] of Object.entries(encodings)) {
    for (const delimiter of [',', ';', '\t', '|']) {
      for (const end of ['\n', '\r\n', '\r']) {
        for (const quote of ['none', 'all', 'some']) {
          const count = 2 + random(12);
          const cell = (text) => quote === 'all' || (quote === 'some' && random(2) === 0) ? `"${text}"` : text;
          const last = random(2) === 0 ? end : '';
          const text = table(random, count).map((row) => row.map(cell).join(delimiter)).join(end) + last;
          yield { name: `${encoding}, delimiter ${JSON.stringify(delimiter)}, ends ${JSON.stringify(end)}, quotes ${quote}`, bytes: encode(text), rows: count + 1, used: count };
        }
      }
    }
  }
}

function* columnsByBlanks(random) {
  for (let round = 0; round < 20; round += 1) {
    const rows = table(random, 2 + random(10)).map((row) => row.slice(0, 3));
    const widths = header.slice(0, 3).map((_, column) => Math.max(...rows.map((row) => row[column].length)) + 2 + random(4));
    const text = rows.map((row) => row.map((cell, column) => cell.padEnd(widths[column])).join('').trimEnd()).join('\n');
    yield { name: `columns by blanks ${round}`, bytes: Buffer.from(text), ending: '.txt', rows: rows.length, used: rows.length - 1 };
  }
}

// Bytes that no terminal should see and no reader should trip over, each put into cells.
const nasty = [
  ['NUL', Buffer.from([0])], ['ESC', Buffer.from('\x1b[2J\x1b]0;x\x07')], ['BEL', Buffer.from('\x07\x07')], ['C1', Buffer.from('\u009b31m')],
  ['right to left', Buffer.from('\u202eabc\u2066')], ['a lone surrogate', Buffer.from([0xed, 0xa0, 0x80])], ['an overlong slash', Buffer.from([0xc0, 0xaf])],
  ['past the last character', Buffer.from([0xf7, 0xbf, 0xbf, 0xbf])], ['a cut character', Buffer.from([0xe2, 0x82])], ['0xff', Buffer.from([0xff, 0xfe])],
  ['a mark inside', Buffer.from('\ufeff')], ['a flood of marks', Buffer.from('e' + '\u0301'.repeat(3_000))], ['line separators', Buffer.from('\u2028\u2029')],
  ['a vertical tab', Buffer.from('\x0b\x0c')], ['DEL', Buffer.from('\x7f')], ['a formula', Buffer.from('=HYPERLINK("x")')], ['no-break blanks', Buffer.from('\u00a0\u2007')],
  ['a non-character', Buffer.from('\uffff')], ['tags', Buffer.from('<script>alert(1)</script>')], ['variables', Buffer.from('${HOME} $(id) `id` %s%n')],
];

function* nastyBytes() {
  for (const [what, bytes] of nasty) {
    const rows = [['first cell', bytes, ''], ['last cell', '', bytes], ['header', null, null]];
    for (const [where, first, last] of rows) {
      const parts = where === 'header'
        ? [Buffer.from('part number,quantity,'), bytes, Buffer.from('\nK-17,1,x\nK-18,2,y\n')]
        : [Buffer.from('part number,quantity,note\nK-17,1,x\n'), Buffer.from(first || 'K-18'), Buffer.from(',2,'), Buffer.from(last || 'y'), Buffer.from('\nK-18,2,z\n')];
      yield { name: `${what} in the ${where}`, bytes: Buffer.concat(parts) };
    }
  }
}

function* damage(random) {
  const whole = Buffer.from(table(random, 30).map((row) => row.join(',')).join('\n'));
  for (let round = 0; round < 60; round += 1) {
    const bytes = Buffer.from(whole);
    for (let hit = 0; hit < 1 + random(20); hit += 1) bytes[random(bytes.length)] = random(256);
    yield { name: `bytes changed ${round}`, bytes };
  }
  for (let round = 0; round < 25; round += 1) yield { name: `cut off ${round}`, bytes: whole.subarray(0, random(whole.length)) };
  for (let round = 0; round < 25; round += 1) yield { name: `random bytes ${round}`, bytes: Buffer.from(Array.from({ length: 1 + random(4_000) }, () => random(256))) };
  const signs = ['"', '""', ',', ';', '\t', '\n', '\r', ' ', 'K-17', '1', '?', 'do', 'total', '-', '=', "'", '\u00bd', '.'];
  for (let round = 0; round < 80; round += 1) {
    const text = 'part number,quantity\n' + Array.from({ length: random(200) }, () => signs[random(signs.length)]).join('');
    yield { name: `signs of CSV in any order ${round}`, bytes: Buffer.from(text) };
  }
}

function* odd() {
  const refused = true;
  yield { name: 'an empty file', bytes: Buffer.alloc(0), refused };
  yield { name: 'a mark alone', bytes: Buffer.from('\ufeff'), refused };
  yield { name: 'a line end alone', bytes: Buffer.from('\n'), refused };
  yield { name: 'blanks alone', bytes: Buffer.from('   \n \t \n'), refused };
  yield { name: 'commas alone', bytes: Buffer.from(',,,\n,,,\n'), refused };
  yield { name: 'a header alone', bytes: Buffer.from('part number,quantity\n'), rows: 1, used: 0 };
  yield { name: 'half of a UTF-16 character', bytes: Buffer.from([0xff, 0xfe, 0x41]), refused };
  yield { name: 'UTF-16 with a lone surrogate', bytes: Buffer.from([0xff, 0xfe, 0x41, 0, 0, 0xd8, 0x42, 0]) };
  yield { name: 'UTF-32', bytes: Buffer.from([0xff, 0xfe, 0, 0, 0x41, 0, 0, 0]), refused };
  for (const [what, bytes] of [['PNG', [0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10, 0, 0]], ['gzip', [0x1f, 0x8b, 8, 0, 0, 0, 0, 0]], ['ELF', [0x7f, 0x45, 0x4c, 0x46, 2, 1, 1, 0]],
    ['a sheet with a password', [0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1]]]) {
    yield { name: what, bytes: Buffer.concat([Buffer.from(bytes), Buffer.alloc(600, 1)]), refused };
  }
  yield { name: '401 columns', bytes: Buffer.from(`part number,quantity\nK-17,1${',x'.repeat(399)}\n`), refused };
  yield { name: '100,000 columns', bytes: Buffer.from(`part number,quantity\nK-17,1${',x'.repeat(100_000)}\n`), refused };
  yield { name: 'a cell of 100 KB', bytes: Buffer.from(`part number,quantity\nK-17,1\n${'x'.repeat(100_000)},1\n`), refused };
  yield { name: 'a quote that never ends', bytes: Buffer.from('part number,quantity\nK-17,1\n"K-18,2\nK-17,3\n') };
  yield { name: 'quotes in the middle', bytes: Buffer.from('part number,quantity,note\nK-17,1,5" wide\nK-18,2,"a" b\n'), rows: 3, used: 2 };
  yield { name: 'a line end within quotes', bytes: Buffer.from('part number,quantity,note\nK-17,1,"two\nlines"\nK-18,2,x\n'), rows: 3, used: 2 };
  yield { name: 'rows of any length', bytes: Buffer.from('part number,quantity\nK-17\nK-18,2,,,,\nK-17,1,x,y,z\n'), rows: 4, used: 3 };
  yield { name: 'the header at the end of a long foreword', bytes: Buffer.from(`${'words of a letter\n'.repeat(40)}part number,quantity\nK-17,1\n`), rows: 42, used: 1 };
  yield { name: 'no header', bytes: Buffer.from('K-17,1\nK-18,2\n'), rows: 2, used: 2 };
  yield { name: 'the header twice', bytes: Buffer.from('part number,quantity\nK-17,1\npart number,quantity\nK-18,2\n'), rows: 4, used: 2 };
  yield { name: 'figures too large', bytes: Buffer.from(`part number,quantity\nK-17,${'9'.repeat(5_000)}\nK-18,1e400\nK-17,NaN\nK-18,-0\n`), rows: 5, used: 4 };
  yield { name: 'one column of numbers', bytes: Buffer.from('part number\nK-17\nK-18\n'), rows: 3, used: 2 };
}

export function* textFiles(random) {
  yield* dialects(random);
  yield* columnsByBlanks(random);
  yield* nastyBytes();
  yield* damage(random);
  yield* odd();
}
