// Reads every row of every sheet with the npm package xlsx: node sheetjs.mjs BOOK
import { readFileSync } from 'node:fs';
import * as XLSX from 'xlsx';

const book = XLSX.read(readFileSync(process.argv[2]), { dense: true, cellFormula: false, cellHTML: false, cellText: false });
let rows = 0, sum = 0;
for (const name of book.SheetNames) {
  for (const row of book.Sheets[name]['!data'] ?? book.Sheets[name]) {
    if (!row) continue;
    rows++;
    if (row[2] && row[2].t === 'n') sum += row[2].v;
  }
}
console.log(rows, sum);
