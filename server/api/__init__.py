"""The HTTP API over the store and its recordings: `docs/api.md` describes it, `/api/openapi.json` defines it."""
