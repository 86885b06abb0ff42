/** Checks a value against the small part of JSON Schema that the contract uses. Fields it does not know are let through. */
export type Schema = Readonly<Record<string, unknown>>;
export type Definitions = Readonly<Record<string, Schema>>;

/** The path of the first thing wrong, or null when the value fits. */
export function fault(value: unknown, schema: Schema, definitions: Definitions, path = ''): string | null {
  const ref = schema['$ref'];
  if (typeof ref === 'string') {
    const target = definitions[ref.slice(ref.lastIndexOf('/') + 1)];
    return target ? fault(value, target, definitions, path) : path;
  }
  const any = (schema['anyOf'] ?? schema['oneOf']) as Schema[] | undefined;
  if (any) return any.some((option) => fault(value, option, definitions, path) === null) ? null : path;
  if ('const' in schema && value !== schema['const']) return path;
  const allowed = schema['enum'] as unknown[] | undefined;
  if (allowed && !allowed.includes(value)) return path;
  switch (schema['type']) {
    case 'null':
      return value === null ? null : path;
    case 'boolean':
      return typeof value === 'boolean' ? null : path;
    case 'string':
      return typeof value === 'string' ? null : path;
    case 'integer':
      return Number.isInteger(value) ? null : path;
    case 'number':
      return Number.isFinite(value) ? null : path;
    case 'array':
      return faultOfArray(value, schema, definitions, path);
    case 'object':
      return faultOfObject(value, schema, definitions, path);
    default:
      return null;
  }
}

function faultOfArray(value: unknown, schema: Schema, definitions: Definitions, path: string): string | null {
  if (!Array.isArray(value)) return path;
  const items = (schema['items'] ?? {}) as Schema;
  for (const [i, item] of value.entries()) {
    const wrong = fault(item, items, definitions, `${path}[${i}]`);
    if (wrong !== null) return wrong;
  }
  return null;
}

function faultOfObject(value: unknown, schema: Schema, definitions: Definitions, path: string): string | null {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return path;
  const fields = value as Record<string, unknown>;
  const required = (schema['required'] ?? []) as string[];
  for (const name of required) if (!(name in fields)) return `${path}.${name}`;
  const properties = (schema['properties'] ?? {}) as Record<string, Schema>;
  for (const [name, property] of Object.entries(properties)) {
    if (!(name in fields)) continue;
    const wrong = fault(fields[name], property, definitions, `${path}.${name}`);
    if (wrong !== null) return wrong;
  }
  return null;
}
