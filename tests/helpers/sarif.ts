/**
 * The JSON Schema of SARIF 2.1.0, to hold reports against. Beside the schema, SOURCE.txt says which it is, from where, and
 * in what the later one with errata differs.
 */
import { readFileSync } from "node:fs";
import { Ajv } from "ajv";

/** What tests read of a report. */
export interface SarifLog {
  readonly $schema: string;
  readonly runs: readonly {
    readonly tool: { readonly driver: { readonly semanticVersion: string; readonly rules: readonly { id: string }[] } };
    readonly results: readonly {
      readonly ruleId: string;
      readonly ruleIndex: number;
      readonly level: string;
      readonly message: { readonly text: string };
      readonly locations: readonly {
        readonly physicalLocation: {
          readonly artifactLocation: { readonly uri: string };
          readonly region: { readonly startLine: number; readonly startColumn: number };
        };
      }[];
      readonly partialFingerprints: Readonly<Record<string, string>>;
      readonly suppressions: readonly { readonly justification: string }[];
    }[];
  }[];
}

/** RFC 3986, appendix A: what may stand in a URI, `%` before two hexadecimal digits alone. */
const CHARACTERS = "(?:[A-Za-z0-9\\-._~:/?#[\\]@!$&'()*+,;=]|%[0-9A-Fa-f]{2})*";

// Draft-04 and draft-07 read this schema alike (no `exclusiveMinimum`, nothing beside a `$ref` but its description), save
// for the names that it has for itself.
const {
  $schema: _draft,
  id: _id,
  ...schema
} = JSON.parse(readFileSync("tests/helpers/sarif-2.1.0/schema.json", "utf8"));
export const isSarif = new Ajv({
  allErrors: true,
  strictTypes: false,
  // Its pattern of a language has a bracket too many, which is an error in a Unicode expression.
  unicodeRegExp: false,
  formats: {
    uri: new RegExp(`^[A-Za-z][A-Za-z0-9+.-]*:${CHARACTERS}$`),
    "uri-reference": new RegExp(`^${CHARACTERS}$`),
    // Our reports have no times.
    "date-time": () => false,
  },
}).compile<SarifLog>(schema);
