// Books as the npm package xlsx makes them.
const XLSX = require("xlsx");
const path = require("path");
const data = require(path.join(__dirname, "book.json"));

const charts = [["Tank", "Depth (in)", "Volume (gal)"]];
for (const t of data.Tanks.slice(1)) data.Depths.forEach((d, i) => charts.push([t[1], d, data.Volumes[i]]));

function book(change) {
  const wb = XLSX.utils.book_new();
  const ws = XLSX.utils.aoa_to_sheet(data.Tanks);
  XLSX.utils.book_append_sheet(wb, ws, "Tanks");
  XLSX.utils.book_append_sheet(wb, XLSX.utils.aoa_to_sheet(charts), "Charts");
  XLSX.utils.book_append_sheet(wb, XLSX.utils.aoa_to_sheet(data.Devices), "Devices");
  if (change) change(ws, wb);
  return wb;
}

const kinds = {
  plain: [null, {}],
  shared: [null, { bookSST: true, compression: true }],
  features: [
    (ws, wb) => {
      ws["!autofilter"] = { ref: "A1:G5" };
      ws["!cols"] = [{ wch: 20 }, { wch: 10 }, { hidden: true }];
      ws["!rows"] = [{ hpx: 30 }, {}, {}, { hidden: true }];
      ws["E3"].f = "22+1/8";
      ws["B2"].c = [{ a: "office", t: "ask at the till" }];
      ws["B2"].c.hidden = true;
      ws["A2"].l = { Target: "https://example.org/harbor", Tooltip: "plan" };
      wb.Workbook = { Names: [{ Name: "Risers", Ref: "Tanks!$E$2:$E$5" }], Sheets: [{}, {}, { Hidden: 1 }] };
    },
    { bookSST: true },
  ],
  dates1904: [
    (ws, wb) => {
      wb.Workbook = { WBProps: { date1904: true } };
      XLSX.utils.sheet_add_aoa(ws, [["Last inspection"], [44000], [44001], [44002], [44003]], { origin: "H1" });
      for (let r = 2; r <= 5; r++) ws[`H${r}`].z = "yyyy-mm-dd";
    },
    {},
  ],
};
for (const [name, [change, opts]] of Object.entries(kinds)) XLSX.writeFile(book(change), path.join(process.argv[2], `sheetjs-${name}.xlsx`), opts);
