// The laws of the pages' scripts: small files, small functions, one state.

import js from "@eslint/js";
import globals from "globals";

const STATE = "A script remembers nothing of its own: what changes stands in state.js.";
const laws = {
  "max-lines": ["error", 250],
  "max-lines-per-function": ["error", 60],
  "max-params": ["error", 4],
  complexity: ["error", 18],
  eqeqeq: "error",
  "no-var": "error",
  "prefer-const": "error",
  "no-restricted-syntax": [
    "error",
    { selector: "Program > VariableDeclaration[kind='let']", message: STATE },
    { selector: "Program > ExportNamedDeclaration > VariableDeclaration[kind='let']", message: STATE },
  ],
};

export default [
  js.configs.recommended,
  { rules: laws },
  { files: ["inventory/web/static/*.js"], languageOptions: { globals: globals.browser } },
  { files: ["inventory/web/static/bench-offline.js"], languageOptions: { globals: globals.serviceworker } },
  { files: ["tests/**/*.js"], languageOptions: { globals: globals.node } },
];
