// Reads every row of every sheet with exceljs's streaming reader: node exceljs.mjs BOOK
import ExcelJS from 'exceljs';

let rows = 0, sum = 0;
const book = new ExcelJS.stream.xlsx.WorkbookReader(process.argv[2], {
  worksheets: 'emit', sharedStrings: 'cache', styles: 'ignore', hyperlinks: 'ignore', entries: 'emit',
});
for await (const sheet of book) {
  for await (const row of sheet) {
    rows++;
    const v = row.getCell(3).value;
    if (typeof v === 'number') sum += v;
  }
}
console.log(rows, sum);
