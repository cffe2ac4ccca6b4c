/** Times as text: the site's clock where its zone is known, else the device's. */

const FORMATS = new Map<string, Intl.DateTimeFormat>();

function format(options: Intl.DateTimeFormatOptions, zone?: string): Intl.DateTimeFormat {
  const key = JSON.stringify([options, zone]);
  let found = FORMATS.get(key);
  if (!found) {
    try {
      found = new Intl.DateTimeFormat(undefined, zone ? { ...options, timeZone: zone } : options);
    } catch {
      found = new Intl.DateTimeFormat(undefined, options);
    }
    FORMATS.set(key, found);
  }
  return found;
}

export function clockTime(timeS: number, zone?: string, seconds = true): string {
  return format({ hour: "2-digit", minute: "2-digit", ...(seconds ? { second: "2-digit" } : {}), hourCycle: "h23" }, zone).format(timeS * 1000);
}

export function day(timeS: number, zone?: string): string {
  return format({ day: "numeric", month: "short", year: "numeric" }, zone).format(timeS * 1000);
}

export function longDay(timeS: number): string {
  return format({ weekday: "long", day: "numeric", month: "long" }).format(timeS * 1000);
}

export function isoDay(timeS: number): string {
  const when = new Date(timeS * 1000);
  const two = (n: number): string => String(n).padStart(2, "0");
  return `${when.getFullYear()}-${two(when.getMonth() + 1)}-${two(when.getDate())}`;
}

/** 1:05:09 or 05:09 */
export function elapsed(spanS: number): string {
  const whole = Math.max(0, Math.floor(spanS));
  const two = (n: number): string => String(n).padStart(2, "0");
  const hours = Math.floor(whole / 3600);
  return `${hours ? `${hours}:` : ""}${two(Math.floor((whole % 3600) / 60))}:${two(whole % 60)}`;
}

/** How long ago, as a clock counts it; the day itself once that says more. */
export function ago(timeS: number, nowS: number, zone?: string): string {
  return nowS - timeS < 6 * 3600 ? elapsed(nowS - timeS) : day(timeS, zone);
}
