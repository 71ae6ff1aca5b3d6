// Every row of every file is accounted for, over all golden cases: what a command says it read is what it used and set
// aside, is as many rows as the file has by the count below (RFC 4180: a record ends at a line end outside quotes), and
// is said wherever a person's file was read.
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";

const root = "tests/golden";
const reads = new Set(["check", "counts", "salvage", "ready", "order", "receive", "found"]);

function rows(text) {
  text = text.replace(/^\ufeff/, "");
  let count = 0, quoted = false, begun = false, cellStart = true;
  for (let at = 0; at < text.length; ++at) {
    const sign = text[at];
    if (quoted) {
      if (sign === '"' && text[at + 1] === '"') ++at;
      else if (sign === '"') quoted = false;
      continue;
    }
    if (sign === "\n" || sign === "\r") {
      if (sign === "\r" && text[at + 1] === "\n") ++at;
      ++count;
      begun = false;
      cellStart = true;
      continue;
    }
    begun = true;
    quoted = sign === '"' && cellStart;
    cellStart = sign === "," || sign === ";" || sign === "\t" || sign === "|";
  }
  return count + (begun ? 1 : 0);
}

let bad = 0, said = 0, counted = 0;
const check = (holds, what) => {
  if (!holds) console.log(`not ok ${what}`), (bad = 1);
};
for (const command of readdirSync(root)) {
  if (!existsSync(join(root, command)) || command.includes(".")) continue;
  for (const name of readdirSync(join(root, command))) {
    const folder = join(root, command, name);
    if (!existsSync(join(folder, "command"))) continue;
    const line = readFileSync(join(folder, "command"), "utf8");
    const out = ["stdout", "stderr"].map((part) => readFileSync(join(folder, part), "utf8")).join("\n");
    let here = 0;
    for (const match of out.matchAll(/^ *(?:(\S+): )?(\d+) rows? read: (\d+) used, (\d+) set aside\.?$/gm)) {
      const [, file, read, used, aside] = match;
      ++here;
      check(+read === +used + +aside, `${folder}: ${match[0]}: the parts do not add up`);
      const lists = file ? [file] : [...new Set(line.match(/\S+\.(?:csv|tsv|txt)(?=[\s;]|$)/g) ?? [])];
      if (lists.length !== 1 || !existsSync(lists[0]) || !/\.(csv|tsv|txt)$/.test(lists[0])) continue;
      const bytes = readFileSync(lists[0]);
      if (bytes.includes(0)) continue; // UTF-16 has no lines of single bytes
      ++counted;
      check(rows(bytes.toString("latin1")) === +read, `${folder}: ${match[0]}: ${lists[0]} has ${rows(bytes.toString("latin1"))} rows`);
    }
    said += here;
    const status = +readFileSync(join(folder, "status"), "utf8");
    const takes = reads.has(line.split(" ")[0]) && /\S+\.(csv|tsv|txt|xlsx)(?=\s|$)/.test(line);
    if (takes && status < 2 && !/--from /.test(line)) check(here > 0, `${folder}: a file is read and its rows are not counted`);
  }
}
check(said > 50 && counted > 50, `only ${said} counts were found, ${counted} of them compared with the file`);
if (!bad) console.log(`ok ${said} counts of rows add up, ${counted} agree with a count of the file's records`);
process.exit(bad);
