// Words in a page's components that should stand in labels.ts, found in the compiler's own tree: one line each, `file: words`.
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'svelte/compiler';

const HEARD_OR_SEEN = new Set(['aria-label', 'alt', 'title', 'placeholder', 'label']);
const WORDS = /\p{L}{2,}/u;
const root = new URL('../src', import.meta.url).pathname;

function* components(folder) {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    if (entry.isDirectory()) yield* components(join(folder, entry.name));
    else if (entry.name.endsWith('.svelte')) yield join(folder, entry.name);
  }
}

function* children(node) {
  for (const [key, value] of Object.entries(node)) {
    if (key === 'metadata' || key === 'parent') continue;
    for (const one of Array.isArray(value) ? value : [value]) if (one && typeof one === 'object' && typeof one.type === 'string') yield one;
  }
}

// Strings of an expression that end on the page: not what is compared, looked up or passed to a function.
function* shown(node) {
  if (node.type === 'Literal' && typeof node.value === 'string') yield node.value;
  else if (node.type === 'TemplateLiteral') for (const part of node.quasis) yield part.value.cooked;
  else if (node.type === 'ConditionalExpression') yield* [...shown(node.consequent), ...shown(node.alternate)];
  else if (node.type === 'LogicalExpression') yield* [...shown(node.left), ...shown(node.right)];
  else if (node.type === 'BinaryExpression' && node.operator === '+') yield* [...shown(node.left), ...shown(node.right)];
}

function* found(node) {
  if (node.type === 'Text') yield node.data;
  else if (node.type === 'ExpressionTag') yield* shown(node.expression);
  else if (node.type === 'Attribute') {
    if (!HEARD_OR_SEEN.has(node.name) || node.value === true) return;
    for (const part of Array.isArray(node.value) ? node.value : [node.value]) yield* found(part);
  } else if (!['StyleSheet', 'Script'].includes(node.type)) for (const child of children(node)) yield* found(child);
}

for (const file of components(root)) {
  const words = [...found(parse(readFileSync(file, 'utf8'), { modern: true }).fragment)].map((text) => text.replace(/\s+/g, ' ').trim());
  for (const text of words.filter((one) => WORDS.test(one))) console.log(`${file.slice(root.length + 1)}: ${text}`);
}
