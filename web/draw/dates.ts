// Days as `2026-12-04`, told and counted; no clock and no time zone in it.
const ms = 86_400_000;
export const day_number = (day: string): number => Math.round(Date.parse(`${day}T00:00:00Z`) / ms);
export const day_of = (number: number): string => new Date(number * ms).toISOString().slice(0, 10);
/** `Fri 4 Dec`; empty where there is none */
export function print_day(day: string): string {
  if (!/^\d{4}-\d\d-\d\d$/.test(day)) return day;
  return new Date(`${day}T00:00:00Z`).toLocaleDateString('en-GB', { weekday: 'short', day: 'numeric', month: 'short', timeZone: 'UTC' }).replace(',', '');
}
export const is_monday = (number: number): boolean => new Date(number * ms).getUTCDay() === 1;
