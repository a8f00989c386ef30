// A box that scrolls sideways can be reached with the Tab key while it does; otherwise it is no stop.
export function reachable(box: HTMLElement): { destroy: () => void } {
  const look = (): void => {
    const scrolls = box.scrollWidth > box.clientWidth + 1;
    if (scrolls) box.tabIndex = 0;
    else box.removeAttribute('tabindex');
  };
  const watch = new ResizeObserver(look);
  watch.observe(box);
  if (box.firstElementChild) watch.observe(box.firstElementChild);
  look();
  return { destroy: () => watch.disconnect() };
}
