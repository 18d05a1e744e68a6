# SPDX-License-Identifier: GPL-3.0-or-later
# Pulls of which some only held, chains, and what let go.

families <- list(
  Weibull = list(
    dist = "weibull", logs = TRUE, w = function(p) log(-log(1 - p)),
    density = function(x, mu, s) dweibull(x, 1 / s, exp(mu), log = TRUE),
    above = function(x, mu, s) pweibull(x, 1 / s, exp(mu), lower.tail = FALSE, log.p = TRUE),
    mean = function(s) lgamma(1 + s), deviation = function(mu, s) exp(mu) * sqrt(gamma(1 + 2 * s) - gamma(1 + s)^2)),
  lognormal = list(
    dist = "lognormal", logs = TRUE, w = qnorm,
    density = function(x, mu, s) dlnorm(x, mu, s, log = TRUE),
    above = function(x, mu, s) plnorm(x, mu, s, lower.tail = FALSE, log.p = TRUE),
    mean = function(s) s^2 / 2, deviation = function(mu, s) exp(mu + s^2 / 2) * sqrt(exp(s^2) - 1)),
  normal = list(
    dist = "gaussian", logs = FALSE, w = qnorm,
    density = function(x, mu, s) dnorm(x, mu, s, log = TRUE),
    above = function(x, mu, s) pnorm(x, mu, s, lower.tail = FALSE, log.p = TRUE),
    mean = function(s) 0, deviation = function(mu, s) s))

log_likelihood <- function(f, case, mu, s)
  sum(ifelse(case$bound == 1, case$links * f$above(case$load, mu, s),
             log(case$links) + f$density(case$load, mu, s) + (case$links - 1) * f$above(case$load, mu, s)))

# survreg stops when the log-likelihood moves by 1e-9 of itself unless told otherwise.
exactly <- survreg.control(maxiter = 200, rel.tolerance = 1e-13)

say_fit <- function(name, mu, s, v, ll) {
  # v is of mu and log sigma.
  say(paste(name, "mu"), mu); say(paste(name, "sigma"), s)
  say(paste(name, "se mu"), sqrt(v[1, 1])); say(paste(name, "se sigma"), s * sqrt(v[2, 2]))
  say(paste(name, "correlation"), v[1, 2] / sqrt(v[1, 1] * v[2, 2]))
  say(paste(name, "log-likelihood"), ll)
}

# ---- profile likelihood ----

# Each figure but the shape is theta = mu + h(sigma), or exp of it. Where the best
# log-likelihood at a given theta (or sigma) has fallen by half of root^2.
profile_end <- function(f, case, mu, s, h, root, shape = FALSE) {
  top <- log_likelihood(f, case, mu, s)
  best <- if (shape)
    function(at) optimize(function(m) log_likelihood(f, case, m, exp(at)), mu + c(-9, 9) * max(s, exp(at)),
                          maximum = TRUE, tol = 1e-11)$objective
  else
    function(at) optimize(function(ls) log_likelihood(f, case, at - h(exp(ls)), exp(ls)), log(s) + c(-1.5, 4),
                          maximum = TRUE, tol = 1e-11)$objective
  from <- if (shape) log(s) else mu + h(s)
  fallen <- function(at) 2 * (top - best(at)) - root^2
  step <- sign(root) * (if (shape) 1 else s) / sqrt(sum(case$bound == 0))
  to <- from + step
  while (fallen(to) < 0) {
    step <- 1.5 * step
    to <- to + step
  }
  uniroot(fallen, sort(c(from, to)), tol = 1e-12)$root
}

wanted <- function(name, f, case, mu, s) {
  told <- if (f$logs) exp else identity
  z <- qnorm(0.975)
  shape <- sapply(c(-z, z), function(root) exp(profile_end(f, case, mu, s, NULL, root, TRUE)))
  if (name == "Weibull") shape <- rev(1 / shape)
  say(paste(name, "shape"), if (name == "Weibull") 1 / s else s)
  say(paste(name, "shape profile low"), shape[1]); say(paste(name, "shape profile high"), shape[2])
  figures <- list(scale = function(s) 0, mean = f$mean, quantile = function(s) s * f$w(0.07))
  for (figure in names(figures)) {
    h <- figures[[figure]]
    say(paste(name, figure), told(mu + h(s)))
    say(paste(name, figure, "profile low"), told(profile_end(f, case, mu, s, h, -z)))
    say(paste(name, figure, "profile high"), told(profile_end(f, case, mu, s, h, z)))
  }
}

# ---- Weibull, conditional on the ancillaries ----

# The same as the distribution of the parameters under a prior of 1 / sigma (Lawless 1982): with
# b = sigma-hat / sigma and standardised log loads a, b has density b^(r - 2) exp(b sum a) /
# S(b)^r, S(b) = sum exp(b a) over all; given it S(b) exp(-b u) is gamma of r.
conditional <- function(case, mu, s) {
  a <- (log(case$load) - mu) / s
  r <- sum(case$bound == 0)
  sum_events <- sum(a[case$bound == 0])
  total <- function(b) vapply(b, function(b1) sum(exp(b1 * a)), 0)
  log_density <- function(b) (r - 2) * log(b) + b * sum_events - r * log(total(b))
  top <- optimize(log_density, c(1e-3, 5), maximum = TRUE)
  high <- top$maximum
  while (log_density(high) > top$objective - 45) high <- high * 1.2
  low <- top$maximum
  while (log_density(low) > top$objective - 45 && low > 1e-9) low <- low / 1.2
  cuts <- c(low, quantile(c(low, top$maximum), 0.5), top$maximum, quantile(c(top$maximum, high), c(0.3, 1)))
  mean_of <- function(g, to = high) {
    ends <- sort(c(cuts[cuts < to], to))
    sum(vapply(seq_along(ends)[-1], function(i)
      integrate(function(b) exp(log_density(b) - top$objective) * g(b), ends[i - 1], ends[i],
                rel.tol = 1e-10, subdivisions = 1000)$value, 0))
  }
  all <- mean_of(function(b) 1 + 0 * b)
  list(
    shape = function(p) uniroot(function(b) mean_of(function(b) 1 + 0 * b, b) / all - p, c(low * 1.01, high),
                                tol = 1e-10)$root / s,
    quantile = function(p, share) {
      w <- log(-log(1 - share))
      chance <- function(t) mean_of(function(b) pgamma(total(b) * exp(w - b * t), r, lower.tail = FALSE)) / all - p
      exp(mu + s * uniroot(chance, c(-3, 3) + w, extendInt = "upX", tol = 1e-10)$root)
    })
}

say_conditional <- function(given) {
  for (end in c("low", "high")) {
    p <- if (end == "low") 0.025 else 0.975
    say(paste("Weibull shape conditional", end), given$shape(p))
    say(paste("Weibull scale conditional", end), given$quantile(p, 1 - exp(-1)))
    say(paste("Weibull quantile conditional", end), given$quantile(p, 0.07))
  }
}

# ---- fits ----

fits <- function(case) {
  events <- case$load[case$bound == 0]
  if (length(unique(events)) < 2) return()
  for (name in names(families)) {
    f <- families[[name]]
    fit <- survreg(Surv(load, 1 - bound) ~ 1, case, dist = f$dist, control = exactly)
    mu <- unname(coef(fit))
    s <- fit$scale
    say_fit(name, mu, s, fit$var, fit$loglik[2])
    wanted(name, f, case, mu, s)
    say(paste(name, "low quantile"), predict(fit, case[1, ], type = "quantile", p = 0.0013))
    say(paste(name, "survival"), exp(f$above(12.9, mu, s)))
    say(paste(name, "deviation"), f$deviation(mu, s))
    complete <- all(case$bound == 0)
    told <- if (f$logs) exp else identity
    if (name == "Weibull") {
      given <- conditional(case, mu, s)
      say_conditional(given)
      low <- given$quantile(0.05, 0.1)
    } else if (complete) {
      y <- if (f$logs) log(case$load) else case$load
      n <- length(y)
      low <- told(mean(y) - sd(y) * tolerance_factor(n, 0.9, 0.95))
    } else
      low <- told(profile_end(f, case, mu, s, function(s) s * f$w(0.1), qnorm(0.05)))
    say(paste(name, "lower bound"), low)
  }
}

say_survival <- function(case) {
  km <- survfit(Surv(load, 1 - bound) ~ 1, case, conf.type = "log-log", conf.int = 0.95)
  s <- summary(km)
  for (i in seq_along(s$time)) {
    say("survival", s$surv[i], i - 1)
    say("survival se", if (s$surv[i] == 0) 0 else s$std.err[i], i - 1)
    say("survival low", s$lower[i], i - 1)
    say("survival high", s$upper[i], i - 1)
  }
  q <- quantile(km, 0.37)
  say("survival quantile", q$quantile)
  # At a survival of 0 R's interval is unknown; but the estimate has come down.
  if (is.na(q$lower) && min(s$surv) == 0) q$lower <- max(s$time)
  say("survival quantile low", q$lower)
  # An end that the estimate does not come down to.
  say("survival quantile high", if (is.na(q$upper) && !is.na(q$lower)) Inf else q$upper)
  # summary stops where the limit lies below all loads.
  mean <- if (min(case$load) > 13.3) c(rmean = 13.3, "se(rmean)" = 0) else
    summary(km, rmean = 13.3)$table
  say("restricted mean", mean[grep("^\\*?rmean", names(mean))])
  say("restricted mean se", mean[grep("^\\*?se\\(rmean", names(mean))])
}

held_sets <- function(case) {
  first <- case[case$set == 0, ]
  fits(first)
  say_survival(first)
  chi2 <- survdiff(Surv(load, 1 - bound) ~ set, case)$chisq
  say("log rank", chi2)
  say("log rank p", pchisq(chi2, 1, lower.tail = FALSE))
}

# ---- chains ----

chained_sets <- function(case) {
  strict <- NULL
  for (name in names(families)) {
    f <- families[[name]]
    start <- survreg(Surv(load, 1 - bound) ~ 1, case, dist = f$dist)
    unit <- start$scale
    less <- function(q) -log_likelihood(f, case, coef(start) + unit * q[1], unit * exp(q[2]))
    q <- c(0, 0)
    # Started afresh until it stays.
    for (round in 1:6) q <- optim(q, less, method = "BFGS", control = list(reltol = 1e-16, ndeps = c(1e-5, 1e-5)))$par
    v <- solve(optimHess(q, less, control = list(ndeps = c(1e-4, 1e-4))))
    v <- v * outer(c(unit, 1), c(unit, 1))
    say_fit(paste("chain", name), coef(start) + unit * q[1], unit * exp(q[2]), v, -less(q))
    if (name == "Weibull") strict <- -less(q)
  }
  fit <- survreg(Surv(load, 1 - bound) ~ log(links), case, dist = "weibull", control = exactly)
  say("length slope", coef(fit)[2])
  say("length slope se", sqrt(fit$var[2, 2]))
  say("length sigma", fit$scale)
  say("length scale", exp(coef(fit)[1]))
  say("length log-likelihood linear", fit$loglik[2])
  say("length log-likelihood separate", sum(sapply(split(case, case$links), function(part)
    survreg(Surv(load, 1 - bound) ~ 1, part, dist = "weibull", control = exactly)$loglik[2])))
  say("length p strict", pchisq(2 * (fit$loglik[2] - strict), 1, lower.tail = FALSE))
}

# ---- what let go ----

caused_set <- function(case) {
  fit <- survfit(Surv(load, factor(cause, -1:2)) ~ 1, case, conf.type = "log-log")
  loads <- c(12.1, 13.4, 14.6)
  s <- summary(fit, times = loads, extend = TRUE)
  for (j in seq_along(loads)) {
    say("intact", s$pstate[j, 1], loads[j])
    for (c in 1:3) {
      at <- 100 * c + loads[j]
      share <- s$pstate[j, c + 1]
      known <- share > 0 && share < 1
      say("incidence", share, at)
      say("incidence low", if (known) s$lower[j, c + 1] else NaN, at)
      say("incidence high", if (known) s$upper[j, c + 1] else NaN, at)
    }
  }
}
