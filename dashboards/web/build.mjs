// Puts the chart library and our own script into one file, and the style sheets into another, for go:embed.
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";

const library = "node_modules/uplot/dist/";
const read = (path) => readFileSync(path, "utf8").trim();

mkdirSync("built", { recursive: true });
for (const [name, parts] of [
  ["charts.js", [library + "uPlot.iife.min.js", "src/charts.js"]],
  ["charts.css", [library + "uPlot.min.css", "src/charts.css"]],
]) {
  const text = parts.map(read).join("\n") + "\n";
  if (/<\/(script|style)/i.test(text)) throw new Error(name + " would end the element that it is inlined in");
  writeFileSync("built/" + name, text);
}
