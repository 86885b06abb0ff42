// Makes `src/wire/types.gen.ts` and `src/wire/schema.gen.json` from the contract, `shared/live.schema.json`.
// Same input, same output: run it after the contract changes and commit both files.
import { readFile, writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { compile } from 'json-schema-to-typescript';

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const source = process.argv[2] ?? here('../../shared/live.schema.json');

/** Every definition anywhere in the document, whichever way the unions around them are arranged. */
function definitionsOf(node, found = {}) {
  if (Array.isArray(node)) for (const item of node) definitionsOf(item, found);
  else if (node && typeof node === 'object') {
    Object.assign(found, node.$defs ?? {});
    for (const value of Object.values(node)) definitionsOf(value, found);
  }
  return found;
}

/** The type tag is always sent; titles of single fields only breed alias types. */
function tidy(definition) {
  const out = structuredClone(definition);
  for (const property of Object.values(out.properties ?? {})) {
    delete property.title;
    delete property.default;
  }
  const tag = out.properties?.type?.const;
  if (tag) out.required = ['type', ...(out.required ?? []).filter((name) => name !== 'type')];
  return out;
}

const PROSE = new Set(['title', 'description', 'additionalProperties', 'default', 'discriminator']);

/** What a reader has to check: no prose, and fields it does not know are none of its business. */
function lean(node) {
  if (Array.isArray(node)) return node.map(lean);
  if (!node || typeof node !== 'object') return node;
  const kept = Object.entries(node).filter(([key]) => !PROSE.has(key));
  return Object.fromEntries(kept.map(([key, value]) => [key, key === 'properties' ? leanFields(value) : lean(value)]));
}

/** Here the keys are names of fields, which may well be called `title`. */
function leanFields(fields) {
  return Object.fromEntries(Object.entries(fields).map(([name, field]) => [name, lean(field)]));
}

const document = JSON.parse(await readFile(source, 'utf8'));
const found = definitionsOf(document);
const definitions = Object.fromEntries(
  Object.keys(found)
    .sort()
    .map((name) => [name, tidy(found[name])])
);
const root = { title: 'Contract', type: 'object', additionalProperties: false, $defs: definitions };
const text = await compile(root, 'Contract', {
  unreachableDefinitions: true,
  additionalProperties: false,
  bannerComment: '/* Made by `npm run types` from shared/live.schema.json. Do not edit. */',
  style: { singleQuote: true, printWidth: 120 }
});
await writeFile(here('../src/wire/types.gen.ts'), text);
await writeFile(here('../src/wire/schema.gen.json'), `${JSON.stringify(lean(definitions), null, 1)}\n`);
