-- How a claim and a share are told.

local claim = {}

function claim.percent(share)
  return ("%.1f %%"):format(share * 100)
end

-- Rounded up: a claim is never told better than it is.
function claim.told(verdict)
  return claim.percent(math.ceil(verdict.claim * 1000 - 1e-6) / 1000)
end

return claim
