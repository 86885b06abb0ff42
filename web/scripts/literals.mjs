// Words that stand outside `src/words`, found in the compilers' own trees: one line each, `file: words`.
// In a component's markup every word that is shown or read out counts; in code a text of more than one word.
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'svelte/compiler';
import ts from 'typescript';

const HEARD_OR_SEEN = new Set(['aria-label', 'alt', 'title', 'placeholder', 'label']);
const WORDS = /\p{L}{2,}/u;
const SENTENCE = /^(?!\().*(\p{L}{3,}[,.;:]?\s+[\p{L}\p{N}]|\s\p{L}{3,}|\p{L}{3,}[,.;:]?\s$)/u;
// `wire` speaks to the server and to the console only.
const ELSEWHERE = new Set(['words', 'wire']);
const root = new URL('../src', import.meta.url).pathname;

function* files(folder) {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    if (entry.isDirectory() && !(folder === root && ELSEWHERE.has(entry.name))) yield* files(join(folder, entry.name));
    else if (/\.(svelte|ts)$/.test(entry.name)) yield join(folder, entry.name);
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

function isForNobody(node) {
  if (ts.isImportDeclaration(node)) return true;
  if (!ts.isCallExpression(node)) return false;
  return node.expression.kind === ts.SyntaxKind.ImportKeyword || node.expression.getText().startsWith('console.');
}

// A text, or a stretch of one between its holes.
function* said(node) {
  if (isForNobody(node)) return;
  if (ts.isStringLiteralLike(node) || ts.isTemplateHead(node) || ts.isTemplateMiddleOrTemplateTail(node)) {
    if (SENTENCE.test(node.text)) yield node.text;
  }
  const inner = [];
  ts.forEachChild(node, (child) => void inner.push(child));
  for (const child of inner) yield* said(child);
}

const saidIn = (code) => [...said(ts.createSourceFile('code.ts', code, ts.ScriptTarget.Latest, true))];

function wordsOf(file) {
  const text = readFileSync(file, 'utf8');
  if (file.endsWith('.ts')) return saidIn(text);
  const tree = parse(text, { modern: true });
  const scripts = [tree.instance, tree.module].filter(Boolean).map((script) => text.slice(script.content.start, script.content.end));
  return [...[...found(tree.fragment)].filter((one) => WORDS.test(one)), ...scripts.flatMap(saidIn)];
}

for (const file of files(root)) {
  for (const text of wordsOf(file)) console.log(`${file.slice(root.length + 1)}: ${text.replace(/\s+/g, ' ').trim()}`);
}
