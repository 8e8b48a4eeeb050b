// Books as exceljs makes them, one kind of feature each.
const ExcelJS = require("exceljs");
const path = require("path");
const data = require(path.join(__dirname, "book.json"));

function chartRows() {
  const rows = [["Tank", "Depth (in)", "Volume (gal)"]];
  for (const t of data.Tanks.slice(1)) data.Depths.forEach((d, i) => rows.push([t[1], d, data.Volumes[i]]));
  return rows;
}

function book(tanks) {
  const wb = new ExcelJS.Workbook();
  wb.created = wb.modified = new Date(Date.UTC(2026, 0, 5));
  const ws = wb.addWorksheet("Tanks");
  tanks(ws, wb);
  wb.addWorksheet("Charts").addRows(chartRows());
  wb.addWorksheet("Devices").addRows(data.Devices);
  return wb;
}

const kinds = {
  plain: (ws) => ws.addRows(data.Tanks),
  table: (ws) =>
    ws.addTable({
      name: "TankList", ref: "A1", headerRow: true, totalsRow: false, style: { theme: "TableStyleMedium2", showRowStripes: true },
      columns: data.Tanks[0].map((name) => ({ name, filterButton: true })), rows: data.Tanks.slice(1),
    }),
  totals: (ws) =>
    ws.addTable({
      name: "TankList", ref: "A1", headerRow: true, totalsRow: true, style: { theme: "TableStyleLight1" },
      columns: data.Tanks[0].map((name, i) => (i === 4 ? { name, totalsRowFunction: "average" } : { name })), rows: data.Tanks.slice(1),
    }),
  looks: (ws) => {
    ws.addRows(data.Tanks);
    ws.getRow(1).eachCell((c) => {
      c.font = { bold: true, color: { argb: "FFFFFFFF" } };
      c.fill = { type: "pattern", pattern: "solid", fgColor: { argb: "FF1F4E78" } };
      c.border = { bottom: { style: "thin" } };
    });
    ws.views = [{ state: "frozen", xSplit: 2, ySplit: 1 }];
    ws.autoFilter = "A1:G1";
    ws.getColumn(3).hidden = true;
    ws.getRow(4).hidden = true;
    ws.getRow(5).outlineLevel = 1;
    ws.getCell("E2").numFmt = "# ?/?";
    ws.getCell("B2").note = "ask at the till";
    ws.getCell("B3").value = { richText: [{ text: "T" }, { font: { bold: true }, text: "-2" }] };
    ws.getCell("A4").value = { text: "Mill Lane", hyperlink: "https://example.org/mill" };
    ws.addConditionalFormatting({ ref: "E2:E5", rules: [{ type: "cellIs", operator: "greaterThan", formulae: [22], priority: 1, style: { fill: { type: "pattern", pattern: "solid", bgColor: { argb: "FFFFC7CE" } } } }] });
    ws.getCell("C2").dataValidation = { type: "list", allowBlank: true, formulae: ['"US-federal,US-CA"'] };
    ws.pageSetup = { orientation: "landscape", printTitlesRow: "1:1", fitToPage: true };
  },
  formulas: (ws, wb) => {
    ws.addRows(data.Tanks);
    for (let r = 2; r <= 5; r++) ws.getCell(`F${r}`).value = { formula: `E${r}+10`, result: data.Tanks[r - 1][4] + 10 };
    ws.getCell("I1").value = "Twice the riser";
    ws.getCell("I2").value = { formula: "E2*2", result: 40, shareType: "shared", ref: "I2:I5" };
    for (let r = 3; r <= 5; r++) ws.getCell(`I${r}`).value = { sharedFormula: "I2", result: data.Tanks[r - 1][4] * 2 };
    wb.definedNames.add("Tanks!$E$2:$E$5", "Risers");
  },
  dates1904: (ws, wb) => {
    wb.properties.date1904 = true;
    ws.addRows(data.Tanks);
    ws.getCell("H1").value = "Last inspection";
    for (let r = 2; r <= 5; r++) { ws.getCell(`H${r}`).value = new Date(Date.UTC(2025, 2, r)); ws.getCell(`H${r}`).numFmt = "yyyy-mm-dd"; }
  },
};

(async () => {
  const out = process.argv[2];
  for (const [name, make] of Object.entries(kinds)) await book(make).xlsx.writeFile(path.join(out, `exceljs-${name}.xlsx`));
  const locked = book((ws) => ws.addRows(data.Tanks));
  await locked.getWorksheet("Tanks").protect("alder", { selectLockedCells: true, sort: true });
  await locked.xlsx.writeFile(path.join(out, "exceljs-protected.xlsx"));
  const stream = new ExcelJS.stream.xlsx.WorkbookWriter({ filename: path.join(out, "exceljs-streamed.xlsx"), useStyles: true, useSharedStrings: false });
  for (const [name, rows] of [["Tanks", data.Tanks], ["Charts", chartRows()], ["Devices", data.Devices]]) {
    const ws = stream.addWorksheet(name);
    for (const r of rows) ws.addRow(r).commit();
    ws.commit();
  }
  await stream.commit();
})();
