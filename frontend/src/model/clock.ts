/** The time to write down: the service's where it was heard, else the device's, and steady through a clock change.
 *
 * Runs on the monotonic clock from when it was set, so that a device clock that jumps in the middle of a visit does not
 * put a mark in the wrong place.
 */
export class Clock {
  private baseS: number;
  private atMs: number;
  /** How far the device's clock is behind the service's; null until it was heard. [s] */
  offsetS: number | null = null;

  constructor(
    private readonly wallMs: () => number = () => Date.now(),
    private readonly steadyMs: () => number = () => performance.now(),
  ) {
    this.baseS = wallMs() / 1000;
    this.atMs = steadyMs();
  }

  nowS(): number {
    return this.baseS + (this.steadyMs() - this.atMs) / 1000;
  }

  /** Take the service's time, heard in an answer that took `tookS`. */
  hear(nowS: number, tookS: number): void {
    const now = nowS + tookS / 2;
    this.offsetS = now - this.wallMs() / 1000;
    // Readings of a recorder and marks must agree; a second's doubt is no reason to move the clock.
    if (Math.abs(now - this.nowS()) > 1) this.set(now);
  }

  /** After a sleep the monotonic clock may have stood still: go by the wall clock, less its known offset. */
  wake(): void {
    const wall = this.wallMs() / 1000 + (this.offsetS ?? 0);
    if (wall - this.nowS() > 2) this.set(wall);
  }

  private set(nowS: number): void {
    this.baseS = nowS;
    this.atMs = this.steadyMs();
  }
}
