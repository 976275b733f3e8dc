// What the checks in Chromium share. Flags: without a graphics card (SwiftShader) and without the browser's own traffic.
import { createRequire } from "module";
import { readFileSync } from "fs";
const require = createRequire(new URL("../node/package.json", import.meta.url));
const { chromium } = require("playwright-core");
const ARGS = ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"];
export const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
export const SIZES = { desktop: { viewport: { width: 1280, height: 860 } }, phone: { viewport: { width: 390, height: 844 }, isMobile: true, hasTouch: true, colorScheme: "dark" } };
const checks = [];
export const check = (name, ok, detail = "") => checks.push([name, Boolean(ok), String(detail)]);
export const launch = () => chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ARGS });
export const finish = () => console.log(JSON.stringify({ checks }));
