// Lengths both ways, by the cases that C++ is held to as well.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import cases from '../../tests/vectors/lengths.json';
import {
  document_length, document_nm, print_inches, print_mm, print_mm_tenths, read_length, type LengthUnit,
} from './length';

describe('read_length', () => {
  it.each(cases.read)('reads $text', ({ text, bare, nm }) => {
    expect(read_length(text, bare as LengthUnit)).toEqual({ ok: true, nm });
  });
  it.each(cases.wrong)('refuses "$text" and says why', (one) => {
    const read = read_length(one.text, 'mm');
    expect(read.ok).toBe(false);
    if (!read.ok && 'what' in one) expect(read.what).toBe(one.what);
    if (!read.ok) expect(read.remedy).not.toBe('');
  });
  it('gives a length or a mistake for any text', () => {
    fc.assert(fc.property(fc.string(), (text) => {
      const read = read_length(text, 'mm');
      return read.ok ? Number.isSafeInteger(read.nm) : read.what !== '';
    }));
  });
});

describe('printing', () => {
  it.each(cases.print_inches)('prints $text', ({ nm, denominator, feet, text }) => {
    expect(print_inches(nm, denominator, feet)).toBe(text);
  });
  it.each(cases.print_mm)('prints $text', ({ nm, text }) => expect(print_mm(nm)).toBe(text));
  it.each(cases.print_mm_tenths)('prints $text', ({ nm, text }) => expect(print_mm_tenths(nm)).toBe(text));
  it('then reading is the same length on the grid', () => {
    fc.assert(fc.property(fc.integer({ min: 0, max: 200_000 }), fc.boolean(), (steps, feet) => {
      const nm = steps * 1_587_500;
      return document_nm(print_inches(nm, 16, feet), 'mm') === nm;
    }));
  });
});

describe('document lengths', () => {
  it('are written so that they read as the same nanometres in every unit', () => {
    const units = fc.constantFrom<LengthUnit>('m', 'cm', 'mm', 'ft', 'in');
    const metric = fc.integer({ min: -100_000, max: 100_000 }).map((mm) => mm * 1_000_000);
    const inch = fc.integer({ min: -100_000, max: 100_000 }).map((steps) => steps * 396_875);
    fc.assert(fc.property(units, fc.oneof(metric, inch), (unit, nm) => {
      expect(document_nm(document_length(nm, unit), unit)).toBe(nm);
    }));
  });
  it('are bare numbers where those are short', () => {
    expect(document_length(4_150_000_000, 'mm')).toBe(4150);
    expect(document_length(14 * 25_400_000 + 9_525_000, 'in')).toBe(14.375);
  });
});
