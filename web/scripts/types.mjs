// Makes `src/wire/types.gen.ts` and `src/wire/schema.gen.json` from the contract, `shared/live.schema.json`, and
// `src/api/types.gen.ts` from the description of the HTTP API, `shared/api.openapi.json`.
// Same input, same output: run it after the contract changes and commit both files.
import { createHash } from 'node:crypto';
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

const sorted = (found) =>
  Object.fromEntries(
    Object.keys(found)
      .sort()
      .map((name) => [name, tidy(found[name])])
  );

async function types(definitions, name, from) {
  return compile({ title: name, type: 'object', additionalProperties: false, $defs: definitions }, name, {
    unreachableDefinitions: true,
    additionalProperties: false,
    bannerComment: `/* Made by \`npm run types\` from ${from}. Do not edit. */`,
    style: { singleQuote: true, printWidth: 120 }
  });
}

const document = JSON.parse(await readFile(source, 'utf8'));
const definitions = sorted(definitionsOf(document));
await writeFile(here('../src/wire/types.gen.ts'), await types(definitions, 'Contract', 'shared/live.schema.json'));
await writeFile(here('../src/wire/schema.gen.json'), `${JSON.stringify(lean(definitions), null, 1)}\n`);

const described = await readFile(here('../../shared/api.openapi.json'), 'utf8');
const stamp = createHash('sha256').update(described).digest('hex'); // by which a test sees that they are of this description
const api = JSON.parse(described.replaceAll('#/components/schemas/', '#/$defs/'));
await writeFile(
  here('../src/api/types.gen.ts'),
  await types(sorted(api.components.schemas), 'Api', `shared/api.openapi.json, sha256 ${stamp}`)
);
