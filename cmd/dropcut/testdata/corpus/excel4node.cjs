// Books as excel4node makes them.
const xl = require("excel4node");
const path = require("path");
const data = require(path.join(__dirname, "book.json"));

const charts = [["Tank", "Depth (in)", "Volume (gal)"]];
for (const t of data.Tanks.slice(1)) data.Depths.forEach((d, i) => charts.push([t[1], d, data.Volumes[i]]));

function fill(ws, rows, style) {
  rows.forEach((row, r) =>
    row.forEach((v, c) => {
      const cell = ws.cell(r + 1, c + 1);
      typeof v === "number" ? cell.number(v) : cell.string(v);
      if (style && r === 0) cell.style(style);
    }),
  );
}

const wb = new xl.Workbook();
const head = wb.createStyle({ font: { bold: true }, fill: { type: "pattern", patternType: "solid", fgColor: "FFD966" }, border: { bottom: { style: "thin" } } });
const ws = wb.addWorksheet("Tanks", { sheetView: { pane: { ySplit: 1, state: "frozen", topLeftCell: "A2", activePane: "bottomLeft" } } });
fill(ws, data.Tanks, head);
ws.row(1).filter({ firstRow: 1, firstColumn: 1, lastRow: 5, lastColumn: 7 });
ws.column(3).hide();
ws.column(4).setWidth(22);
ws.row(5).group(1, true);
ws.cell(2, 2).comment("ask at the till");
ws.cell(3, 6).formula("E3+10");
ws.addDataValidation({ type: "list", allowBlank: true, sqref: "C2:C5", formulas: ["US-federal,US-CA"] });
ws.addConditionalFormattingRule("E2:E5", { type: "expression", priority: 1, formula: "E2>22", style: wb.createStyle({ font: { color: "FF0000" } }) });
fill(wb.addWorksheet("Charts"), charts);
fill(wb.addWorksheet("Devices"), data.Devices);
wb.write(path.join(process.argv[2], "excel4node-features.xlsx"), (err) => {
  if (err) throw err;
});
