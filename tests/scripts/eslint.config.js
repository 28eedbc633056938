// One style for all scripts, and what is most often a fault. Types are checked by tsconfig.json.
import js from "@eslint/js";
import globals from "globals";

// A string stands between double quotes, unless it holds one.
const quotes = {
  create: (context) => ({
    Literal(node) {
      if (typeof node.value !== "string" || node.raw[0] !== "'" || node.value.includes('"')) return;
      context.report({ node, message: "Put it between double quotes." });
    },
  }),
};

export default [
  js.configs.recommended,
  {
    files: ["**/*.js"],
    plugins: { house: { rules: { quotes } } },
    languageOptions: { ecmaVersion: 2024, sourceType: "module", globals: globals.browser },
    rules: {
      "house/quotes": "error",
      "no-var": "error", "prefer-const": "error", eqeqeq: "error", "object-shorthand": "error",
      "prefer-template": "error", "no-shadow": "error", "no-use-before-define": ["error", { functions: false, classes: false, variables: false }],
      "no-unused-vars": ["error", { args: "after-used" }], "no-eval": "error", "no-implied-eval": "error",
      "no-restricted-properties": ["error", { property: "innerHTML", message: "Text is text: build elements." }],
      "prefer-arrow-callback": "error", "no-useless-concat": "error", "no-else-return": "error",
    },
  },
];
