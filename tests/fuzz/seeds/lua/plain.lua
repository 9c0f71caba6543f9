return procedure { id = "x", run = function() local a = ask { 1, "two", { three = 3 } } ask { a + 1 } end }
