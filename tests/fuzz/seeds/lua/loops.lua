local t, s = {}, ""
for i = 1, 9 do t[i] = i * 2 s = s .. tostring(t[i]) end
for k, v in pairs { b = 1, a = 2, [3] = 4 } do s = s .. k .. v end
table.sort(t, function(a, b) return a > b end)
local ok, e = pcall(function() error({ 1 }) end)
return procedure { run = function() ask { s, #t, ok, math.floor(2.5), ("x"):rep(3), data.list[3][1] } end }
