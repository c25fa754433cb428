// The same measures as for Python: small files, small functions, few branches.
import js from "@eslint/js";
import globals from "globals";

export default [
  js.configs.recommended,
  {
    files: ["static/js/**/*.js", "tests/js/**/*.js", "eslint.config.js"],
    linterOptions: { reportUnusedDisableDirectives: "error" },
    languageOptions: { ecmaVersion: 2022, sourceType: "module" },
    rules: {
      "no-undef": "error",
      "no-unused-vars": ["error", { varsIgnorePattern: "^_$", argsIgnorePattern: "^_$" }],
      eqeqeq: "error",
      complexity: ["error", 10],
      "max-lines": ["error", 400],
      "max-lines-per-function": ["error", 40],
      "no-var": "error",
      "prefer-const": "error",
      "no-shadow": "error",
      "no-duplicate-imports": "error",
      semi: "error", // Django's storage finds an import by its semicolon
      quotes: ["error", "double", { avoidEscape: true, allowTemplateLiterals: true }],
    },
  },
  { files: ["static/js/**/*.js"], languageOptions: { globals: globals.browser } },
  { files: ["tests/js/**/*.js"], languageOptions: { globals: globals.nodeBuiltin } },
];
