// A label's code as the program prints it, and what else a camera may see.
import { describe, expect, it } from 'vitest';
import { read_label } from './label';

describe('a label', () => {
  it('names its piece, job and revision', () => {
    expect(read_label('RW1|D-017|B|W1|wall panel|wall0|1200.0|600.0|9.8|1')).toEqual({ piece: 'W1', job: 'D-017', revision: 'B' });
  });
  it('typed by hand is the name of the piece', () => {
    expect(read_label(' w1 ')).toEqual({ piece: 'w1', job: '', revision: '' });
  });
  it('of another kind is told apart', () => {
    expect(read_label('RW2|D-017|B|W1|wall panel|wall0|1200.0|600.0|9.8|1')).toBeUndefined();
    expect(read_label('https://example.org/a/long/address/that/is/no/piece')).toBeUndefined();
    expect(read_label('  ')).toBeUndefined();
  });
});
