# SPDX-License-Identifier: GPL-3.0-or-later
# Mixed models of whole books, by lme4. lmer as it is called leaves deviations up to 2e-4 short of
# where the deviance is least, so its search is followed: bobyqa to 1e-9, from its edges once more,
# then Newton's steps by differences of its own deviance function. Satterthwaite's degrees of
# freedom come from differences of the same function's pieces.

# ---- differences of the fourth order ----

slope_of <- function(f, at, h) {
  weights <- c(1, -8, 8, -1) / 12
  sapply(seq_along(at), function(i) {
    near <- lapply(c(-2, -1, 1, 2), function(step) f(replace(at, i, at[i] + step * h[i])))
    Reduce(`+`, Map(`*`, weights, near)) / h[i]
  })
}

curvature_of <- function(f, at, h) {
  c <- slope_of(function(x) slope_of(f, x, h), at, h)
  matrix((c + t(matrix(c, length(at)))) / 2, length(at))
}

# ---- lme4, to the end ----

step_of <- function(theta) 5e-3 * pmax(abs(theta), 0.05)

# Newton's steps over what is not at 0, each taken only where the deviance does not rise.
settle <- function(fun, theta, at_zero) {
  free <- which(!at_zero)
  some <- function(x) fun(replace(theta, free, x))
  x <- theta[free]
  for (round in 1:6) {
    if (!length(x)) break
    h <- step_of(x)
    step <- solve(curvature_of(some, x, h), slope_of(some, x, h))
    if (some(x - step) > some(x) + 1e-9) break
    x <- x - step
    if (max(abs(step) / pmax(abs(x), 0.01)) < 1e-9) break
  }
  replace(theta, free, x)
}

# Of terms that are one ("line+spool") the first stands for all.
fit_to_the_end <- function(book, terms, reml) {
  terms <- sub("[+].*", "", terms)
  formula <- as.formula(paste("y ~ 0 + knot + turns +", paste0(
    ifelse(grepl("|", terms, fixed = TRUE), paste0("(", terms, ")"), paste0("(1|", terms, ")")),
    collapse = " + ")))
  parsed <- lFormula(formula, book, REML = reml)
  fun <- do.call(mkLmerDevfun, parsed)
  found <- optimizeLmer(fun, optimizer = "bobyqa", restart_edge = TRUE,
                        control = list(rhobeg = 0.2, rhoend = 1e-9, maxfun = 1e5))
  theta <- found$par
  zero <- parsed$reTrms$lower == 0 & theta < 1e-4
  if (any(zero) && fun(replace(theta, zero, 0)) <= fun(theta) + 1e-9) theta[zero] <- 0
  theta <- settle(fun, theta, theta == 0)
  found$par <- theta
  found$fval <- fun(theta)
  list(fun = fun, theta = theta, reml = reml, parsed = parsed,
       model = mkMerMod(environment(fun), found, parsed$reTrms, fr = parsed$fr))
}

# The deviance, and the covariance of the coefficients, at any sigma.
pieces <- function(fit, x) {
  fit$fun(head(x, -1))
  inside <- environment(fit$fun)
  p <- if (fit$reml) ncol(inside$pp$X) else 0
  n <- length(inside$resp$y)
  square <- inside$resp$wrss() + inside$pp$sqrL(1)
  v <- tail(x, 1)^2
  list(deviance = inside$pp$ldL2() + (if (fit$reml) inside$pp$ldRX2() else 0) + (n - p) * log(2 * pi * v) +
         square / v,
       covariance = v * tcrossprod(inside$pp$RXi()))
}

# Giesbrecht and Burns (1985): 2 v^2 over the variance of v, a contrast's variance.
satterthwaite <- function(fit, sigma, contrasts) {
  free <- c(which(fit$theta != 0), length(fit$theta) + 1)
  all <- c(fit$theta, sigma)
  x <- all[free]
  h <- c(step_of(head(x, -1)), 5e-3 * sigma)
  at <- function(x) pieces(fit, replace(all, free, x))
  spread <- 2 * solve(curvature_of(function(x) at(x)$deviance, x, h))
  covariance <- at(x)$covariance
  slopes <- array(slope_of(function(x) as.vector(at(x)$covariance), x, h), c(dim(covariance), length(x)))
  sapply(contrasts, function(w) {
    g <- apply(slopes, 3, function(s) w %*% s %*% w)
    2 * drop(w %*% covariance %*% w)^2 / drop(g %*% spread %*% g)
  })
}

# ---- what is said ----

# Near is 1e-5 of it; for what may be about 0, of the deviation of such effects.
near_of <- function(value, deviation) 1e-5 * pmax(abs(value), deviation)

say_terms <- function(model, sigma, one) {
  effects <- ranef(model, condVar = TRUE)
  covariances <- VarCorr(model)
  for (term in names(covariances)) {
    deviations <- attr(covariances[[term]], "stddev")
    values <- as.matrix(effects[[term]])
    variances <- attr(effects[[term]], "postVar")
    for (e in seq_along(deviations)) {
      say(paste("mixed deviation of", term), deviations[[e]], e - 1, near_of(deviations[[e]], 1e-2 * sigma))
      of <- paste0(if (e == 2) " of turns" else "", " of ", term)
      for (l in seq_len(nrow(values))) {
        level <- as.numeric(rownames(values)[l])
        say(paste0("mixed mode", of), values[l, e], level, near_of(values[l, e], deviations[[e]]))
        # Not to be had from variances of its parts.
        if (!(term %in% one))
          say(paste0("mixed mode variance", of), variances[e, e, l], level,
              near_of(variances[e, e, l], 1e-4 * sigma^2))
      }
    }
    if (length(deviations) == 2)
      say(paste("mixed covariance of", term), covariances[[term]][1, 2], 0,
          near_of(covariances[[term]][1, 2], prod(deviations)))
  }
}

say_contrasts <- function(fit, model, sigma) {
  beta <- fixef(model)
  covariance <- as.matrix(vcov(model))
  knots <- length(beta) - 1
  contrasts <- list(replace(0 * beta, 1, 1), replace(0 * beta, 1:2, c(-1, 1)), c(rep(1 / knots, knots), 5))
  df <- satterthwaite(fit, sigma, contrasts)
  for (i in seq_along(contrasts)) {
    w <- contrasts[[i]]
    value <- sum(w * beta)
    se <- sqrt(drop(w %*% covariance %*% w))
    say("mixed contrast", value, i - 1, near_of(value, se))
    say("mixed contrast se", se, i - 1)
    say("mixed degrees of freedom", df[i], i - 1)
    say("mixed contrast p", 2 * pt(-abs(value / se), df[i]), i - 1)
    say("mixed contrast low", value - qt(0.975, df[i]) * se, i - 1)
  }
}

# Ours in the order of lme4's terms.
our_theta <- function(figures, fit) {
  counts <- lengths(fit$parsed$reTrms$cnms)
  unlist(lapply(names(counts), function(term) {
    wanted <- paste0("mixed theta of ", term, " @", seq_len(counts[[term]] * (counts[[term]] + 1) / 2) - 1)
    figures$value[match(wanted, figures$figure)]
  }))
}

fitted_book <- function(book, method, figures) {
  for (column in c("knot", "line", "spool", "cell", "day", "tyer")) book[[column]] <- factor(book[[column]])
  terms <- strsplit(book$terms[1], " ")[[1]]
  fit <- fit_to_the_end(book, terms, method == "REML")
  model <- fit$model
  sigma <- sigma(model)
  least <- if (method == "REML") REMLcrit(model) else deviance(model, REML = FALSE)
  say("mixed converged", 1)
  say("mixed criterion", least)
  say("mixed sigma", sigma)
  beta <- fixef(model)
  errors <- sqrt(diag(as.matrix(vcov(model))))
  for (j in seq_along(beta)) {
    say("mixed coefficient", beta[[j]], j - 1, near_of(beta[[j]], errors[[j]]))
    say("mixed se", errors[[j]], j - 1)
  }
  say_terms(model, sigma, sub("[+].*", "", grep("+", terms, fixed = TRUE, value = TRUE)))
  say_contrasts(fit, model, sigma)
  widths <- lengths(fit$parsed$reTrms$cnms)
  theirs <- split(fit$theta, rep(names(widths), widths * (widths + 1) / 2))
  for (term in names(theirs))
    for (i in seq_along(theirs[[term]]))
      say(paste("mixed theta of", term), theirs[[term]][i], i - 1, near_of(theirs[[term]][i], 1e-2))
  # Of some thousands rounding leaves 1e-8.
  at_ours <- fit$fun(our_theta(figures, fit))
  say("mixed criterion of lme4's function at our theta", at_ours, margin = 1e-8)
  say("mixed criterion or lower", min(at_ours, least), margin = 1e-8)
}
