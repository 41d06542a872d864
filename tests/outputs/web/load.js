/* Loads parts of the map's scripts as the page does: one namespace, built up part by part. */
import { readFileSync } from 'node:fs';

const assets = new URL('../../../siteplan/outputs/map/scripts/', import.meta.url);

/** The namespace after these parts; no document, no map. */
export function load(...parts) {
  const source = parts.map((part) => readFileSync(new URL(part, assets), 'utf8')).join('\n');
  return new Function('L', `'use strict';\nconst SP = {};\n${source}\nreturn SP;`)({});
}

/** Bring the sign of zero along: deepEqual of node's strict assert tells -0 from 0. */
export const range = (n) => Array.from({ length: n }, (_, k) => k);
