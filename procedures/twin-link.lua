-- A V twin whose two throttle shafts are joined by one link.
-- Shows an adjuster with words, effort and parts of the shop's own.
return procedure {
  id = "twin-link", version = "1.0.0", api = 1,
  title = "V twin with one link between its throttles",

  layout = {
    rows = { { 1, 2 } },
    adjusters = {
      link { "link", { 1 }, { 2 }, title = "link between the throttles", effort = 6,
        takes_off = { "link guard" },
        how = "Mark both lock nuts, slacken them, turn the link by one flat, tighten, see that nothing binds." },
    },
  },

  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
