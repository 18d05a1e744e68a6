// SPDX-License-Identifier: GPL-3.0-or-later
// The pages of knots: what turns in space and what is drawn on are brought where they are needed, the
// first when it comes near the window. Without them the page has still pictures, and text that is typed.
function bring_near(places, bring) {
  const watch = new IntersectionObserver(
    (entries) => {
      for (const { isIntersecting, target } of entries) {
        if (!isIntersecting) continue;
        watch.unobserve(target);
        bring(target);
      }
    },
    { rootMargin: '200px' },
  );
  for (const place of places) watch.observe(place);
}

bring_near(document.querySelectorAll('.space[data-tie]'), async (place) => {
  const { show } = await import('./space.js');
  show?.(place);
});

for (const place of document.querySelectorAll('.pad[data-text]'))
  import('./pad/pad.js').then(({ open }) => open(place));
